// What the picture needs of three.js; the build bundles it into vendor/three.js.
export {
  Box3, Box3Helper, BufferGeometry, CanvasTexture, DirectionalLight, DoubleSide, EdgesGeometry, ExtrudeGeometry,
  Group, HemisphereLight, Line, LineBasicMaterial, LineSegments, Matrix4, Mesh, MeshBasicMaterial, MeshLambertMaterial,
  Path, PerspectiveCamera, PlaneGeometry, Scene, Shape, Sprite, SpriteMaterial, Vector2, Vector3, WebGLRenderer,
} from "three";
export { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
