// What is laid over the picture in three dimensions: painted areas, bent surfaces, numbers, a tool. Points, bands and
// words come from the server; here they are only placed and tinted.
import { dispose } from "./scene.js";

const INK = 0x26221d;
const RUST = 0xa5461c;
const BLUE = 0x2b5c8a;
const VERDICTS = { fails: RUST, unknown: 0x625b4f };
const PARTS = { cutter: 0x26221d, shank: 0x8d857a, holder: 0xb7b2a8, head: 0xfaf6ec };

let stage = null;
let answer = null;
let wasTool = false;

// Lay an answer over the picture, bent by a share of what it says.
export function lay(on, came, share) {
  stage = on;
  answer = came;
  stage.beforeDrawing = face;
  dispose(stage.painted);
  dispose(stage.tool);
  const { painting, tool } = answer;
  stage.veil = {};
  stage.marked = {};
  stage.turn(tool?.turn ?? 0);
  if (painting?.surface) {
    stage.veil = { column: "hidden", mouth: "hidden", fastening: "hidden", station: tool ? "outlined" : "hidden" };
    surface(painting);
  } else if (painting) {
    stage.veil = { station: "outlined" };
    areas(painting);
  }
  for (const label of painting?.labels ?? []) number(label);
  if (tool) stack(tool);
  if (tool && !wasTool) around(tool);
  if (!tool && wasTool) stage.look(document.querySelector('.overlays [data-view="iso"]'));
  wasTool = Boolean(tool);
  bend(share);
  stage.show();
  stage.size();
}

function areas(painting) {
  const { three } = stage;
  for (const area of painting.areas) {
    const [outer, ...holes] = area.rings.map(points);
    const shape = new three.Shape(outer);
    shape.holes = holes.map((ring) => new three.Path(ring));
    const solid = new three.ShapeGeometry(shape);
    const a = area.axes;
    const g = answer.grain;
    solid.applyMatrix4(new three.Matrix4().makeScale(g, g, 1));
    solid.applyMatrix4(new three.Matrix4().set(a[0], a[3], a[6], a[9], a[1], a[4], a[7], a[10], a[2], a[5], a[8], a[11], 0, 0, 0, 1));
    const tint = painting.shades[area.band] || "#faf6ec";
    stage.painted.add(new three.Mesh(solid, new three.MeshBasicMaterial({ color: tint, polygonOffset: true, polygonOffsetFactor: 0.4, polygonOffsetUnits: 0.4 })));
    stage.painted.add(new three.LineSegments(new three.EdgesGeometry(solid), new three.LineBasicMaterial({ color: INK })));
  }
  if (!painting.hatch.length) return;
  const strokes = new three.BufferGeometry();
  strokes.setAttribute("position", new three.BufferAttribute(Float32Array.from(painting.hatch, (n) => n * answer.grain), 3));
  stage.painted.add(new three.LineSegments(strokes, new three.LineBasicMaterial({ color: RUST })));
}

function points(flat) {
  const ring = [];
  for (let k = 0; k < flat.length; k += 2) ring.push(new stage.three.Vector2(flat[k], flat[k + 1]));
  return ring;
}

function surface(painting) {
  const { three } = stage;
  const { surface: made } = painting;
  const at = new three.BufferAttribute(Float32Array.from(made.points, (n) => n * answer.grain), 3);
  const moved = new three.BufferAttribute(Float32Array.from(made.moved, (n) => n * answer.grain), 3);
  const part = (index, moves = true) => {
    const geometry = new three.BufferGeometry();
    geometry.setAttribute("position", at);
    geometry.setIndex(index);
    if (moves) {
      geometry.morphAttributes.position = [moved];
      geometry.morphTargetsRelative = true;
    }
    return geometry;
  };
  made.bands.forEach((triangles, band) => {
    if (!triangles.length) return;
    const tint = new three.MeshBasicMaterial({ color: painting.shades[band], side: three.DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
    keep(new three.Mesh(part(triangles), tint));
  });
  if (made.lines.length) keep(new three.LineSegments(part(made.lines), new three.LineBasicMaterial({ color: INK })), 0.6);
  keep(new three.LineSegments(part(made.rims), new three.LineBasicMaterial({ color: INK })));
  const rest = new three.LineSegments(part(made.rims, false), new three.LineBasicMaterial({ color: INK }));
  keep(rest, 0.28);
}

function keep(object, opacity = 1) {
  object.userData = { opacity, clear: opacity < 1 };
  object.material.transparent = opacity < 1;
  object.material.opacity = opacity;
  object.frustumCulled = false;
  stage.painted.add(object);
}

// A number on the paint, always upright and of one size.
function number(label) {
  const { three } = stage;
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 48;
  const pen = canvas.getContext("2d");
  pen.font = '600 30px "Plex Mono", monospace';
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineWidth = 7;
  pen.lineJoin = "round";
  pen.strokeStyle = "#fffdf6";
  pen.strokeText(label.text, 24, 25);
  pen.fillStyle = "#26221d";
  pen.fillText(label.text, 24, 25);
  const drawn = new three.CanvasTexture(canvas);
  drawn.colorSpace = "srgb";
  const sprite = new three.Sprite(new three.SpriteMaterial({ map: drawn, depthTest: false, sizeAttenuation: false }));
  sprite.renderOrder = 3;
  const vector = (flat, size) => new three.Vector3(...flat).multiplyScalar(size);
  sprite.userData = { at: vector(label.at, answer.grain), moved: vector(label.moved, answer.grain), outward: vector(label.outward, 1) };
  stage.painted.add(sprite);
}

// Numbers on faces that look away are not shown; the others keep their size on the screen.
function face() {
  if (!stage.painted.children.length) return;
  const { three, camera } = stage;
  const size = (24 / Math.max(stage.box.clientHeight, 1)) * 2 * Math.tan((camera.fov * Math.PI) / 360);
  stage.painted.updateMatrixWorld();
  for (const each of stage.painted.children) {
    if (!each.isSprite) continue;
    const there = each.position.clone().applyMatrix4(stage.painted.matrixWorld);
    const way = each.userData.outward.clone().transformDirection(stage.painted.matrixWorld);
    each.visible = way.dot(new three.Vector3().subVectors(camera.position, there).normalize()) > 0.12;
    each.scale.set(size, size, 1);
  }
}

function stack(tool) {
  const { three } = stage;
  const [x, y, z] = tool.tip;
  for (const part of tool.parts) {
    const length = part.end - part.start;
    let solid;
    if (part.radius !== null) {
      solid = new three.CylinderGeometry(part.radius, part.radius, length, 40);
      solid.rotateX(Math.PI / 2);
      solid.translate(x, y, z + part.start + length / 2);
    } else {
      const [low, high] = [part.low, part.high];
      solid = new three.BoxGeometry(high[0] - low[0], high[1] - low[1], length);
      solid.translate(x + (low[0] + high[0]) / 2, y + (low[1] + high[1]) / 2, z + part.start + length / 2);
    }
    const head = part.name === "head";
    const opacity = !head ? 1 : part.radius === null ? 0.12 : 0.7;
    const skin = new three.MeshLambertMaterial({ color: PARTS[part.name] ?? 0xb7b2a8, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
    const mesh = new three.Mesh(solid, skin);
    mesh.userData = { opacity, clear: head };
    skin.transparent = head;
    skin.opacity = opacity;
    skin.depthWrite = opacity > 0.5;
    stage.tool.add(mesh);
    const edge = new three.LineSegments(new three.EdgesGeometry(solid, 30), new three.LineBasicMaterial({ color: INK, transparent: head, opacity: opacity > 0.5 ? 1 : 0.35 }));
    edge.userData = { opacity: edge.material.opacity, clear: head };
    stage.tool.add(edge);
  }
  for (const name of tool.near) stage.marked[name] = VERDICTS[tool.verdict] ?? BLUE;
}

// Stand aside, so that the column and what comes at it are both seen, as far as the spindle's nose.
function around(tool) {
  const { three } = stage;
  const nose = Math.min(...tool.parts.filter((part) => part.radius === null).map((part) => part.start), tool.parts.at(-1).end);
  const { centre, radius } = stage.shown;
  const box = new three.Box3().setFromCenterAndSize(new three.Vector3(...centre), new three.Vector3(radius, radius * 1.5, radius));
  box.expandByPoint(new three.Vector3(tool.tip[0], tool.tip[1], tool.tip[2] + nose));
  const size = box.getSize(new three.Vector3());
  stage.from([1, 0.36, 0.32], box.getCenter(new three.Vector3()).toArray(), Math.max(0.9 * radius, 0.62 * size.z));
}

export function bend(share) {
  for (const each of stage.painted.children) {
    if (each.morphTargetInfluences) each.morphTargetInfluences[0] = share;
    if (each.isSprite) each.position.copy(each.userData.at).addScaledVector(each.userData.moved, share);
  }
}
