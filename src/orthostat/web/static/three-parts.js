// What the picture needs of three.js; the build bundles it into vendor/three.js.
export {
  Box3, Box3Helper, BoxGeometry, BufferAttribute, BufferGeometry, CanvasTexture, CylinderGeometry, DirectionalLight,
  DoubleSide, EdgesGeometry, ExtrudeGeometry, Group, HemisphereLight, Line, LineBasicMaterial, LineSegments, Matrix4,
  Mesh, MeshBasicMaterial, MeshLambertMaterial, Path, PerspectiveCamera, PlaneGeometry, Scene, Shape, ShapeGeometry,
  Sprite, SpriteMaterial, Vector2, Vector3, WebGLRenderer,
} from "three";
export { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
