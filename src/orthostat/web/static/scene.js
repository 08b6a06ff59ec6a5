// The column in three dimensions. Where there is no three.js or no WebGL, the still picture stays.
// It places and shades outlines that come from the server; it measures nothing.
const COLOURS = {
  column: 0xe2a72e,
  "stands on": 0xd6ccb8,
  station: 0xf1ebdd,
  fastening: 0x9a9182,
  mouth: 0x3a352e,
};
const PARTS = { part: 0xe2dccd, clamp: 0xc9bfae };
const SHARP = Math.cos((25 * Math.PI) / 180);
// Sides are flat, so their shade is worked out at their corners: a processor that draws has little to do for each dot.
const SHADE = `
  uniform vec3 diffuse, glow, sky, ground, sun, toSun;
  varying vec3 tint;
  void main() {
    vec3 out_ = normalize(mat3(modelMatrix) * normal);
    vec3 light = mix(ground, sky, 0.5 + 0.5 * out_.y) + sun * max(dot(out_, toSun), 0.0);
    vec3 seen = diffuse * light / 3.14159265 + glow;
    tint = mix(1.055 * pow(seen, vec3(1.0 / 2.4)) - 0.055, 12.92 * seen, vec3(lessThanEqual(seen, vec3(0.0031308))));
    gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  }`;
const TINT = "uniform float opacity; varying vec3 tint; void main() { gl_FragColor = vec4(tint, opacity); }";
const VIEWS = { iso: [-0.62, 0.5, 1], front: [0, 0.02, 1], side: [1, 0.02, 0], top: [0, 1, 0.001] };

let stage = null;
let last = null;
const waiting = [];

export async function drawScene(box) {
  let three;
  try {
    three = await import("./vendor/three.js");
  } catch {
    return unavailable(box, "The turning picture is not installed; this is its still one.");
  }
  let renderer;
  try {
    renderer = new three.WebGLRenderer({ antialias: !drawnBySoftware(), alpha: true, powerPreference: "low-power" });
  } catch {
    return unavailable(box, "This browser draws no 3D; this is the still picture.");
  }
  stage = new Stage(box, three, three.OrbitControls, renderer);
  if (last) stage.put(last);
  for (const each of waiting) each(stage);
}

// Calls back with the stage once there is one; never where nothing is drawn in three dimensions.
export function whenStaged(callback) {
  if (stage) callback(stage);
  else waiting.push(callback);
}

export function setScene(scene) {
  last = scene;
  stage?.put(scene);
}

// Without graphics hardware the processor draws; it then has better things to do than to smooth edges.
function drawnBySoftware() {
  const drawing = document.createElement("canvas").getContext("webgl2");
  const told = drawing?.getExtension("WEBGL_debug_renderer_info");
  const name = told ? drawing.getParameter(told.UNMASKED_RENDERER_WEBGL) : "";
  drawing?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|softpipe|software|basic render/i.test(name);
}

function unavailable(box, words) {
  box.title = words;
  document.getElementById("no-3d").textContent = `${words} What would be painted on it stands below in words and numbers.`;
  for (const each of document.querySelectorAll(".overlays button, .overlays input")) each.disabled = true;
}

class Stage {
  constructor(box, three, OrbitControls, renderer) {
    Object.assign(this, { box, three, renderer });
    this.scene = new three.Scene();
    this.camera = new three.PerspectiveCamera(28, 1, 0.02, 60);
    this.world = new three.Group();
    this.shapes = new Map();
    this.solids = [];
    this.edges = [];
    this.over = new three.Group();
    // What is painted turns with the column; what hides or outlines parts of it is said by `veil`.
    this.painted = new three.Group();
    this.tool = new three.Group();
    this.veil = {};
    this.marked = {};
    this.beforeDrawing = () => {};
    const sky = new three.HemisphereLight(0xffffff, 0xcfc4ae, 2.1);
    const sun = new three.DirectionalLight(0xffffff, 1.5);
    sun.position.set(-1.2, 2.2, 2.4);
    this.scene.add(this.world, this.painted, this.over, this.tool, sky, sun);
    this.lit = {
      sky: { value: sky.color.clone().multiplyScalar(sky.intensity) },
      ground: { value: sky.groundColor.clone().multiplyScalar(sky.intensity) },
      sun: { value: sun.color.clone().multiplyScalar(sun.intensity) },
      toSun: { value: sun.position.clone().normalize() },
    };
    renderer.domElement.setAttribute("role", "img");
    renderer.domElement.setAttribute("aria-describedby", "scene-words");
    renderer.domElement.setAttribute("aria-label", "The column in three dimensions");
    renderer.domElement.tabIndex = 0;
    this.controls = new OrbitControls(this.camera, renderer.domElement);
    this.controls.addEventListener("change", () => this.draw());
    this.controls.listenToKeyEvents(renderer.domElement);
    box.append(renderer.domElement);
    box.classList.add("live");
    new ResizeObserver(() => this.size()).observe(box);
    document.querySelector(".overlays").addEventListener("click", (event) => this.look(event.target.closest("[data-view]")));
    document.querySelector(".overlays").addEventListener("change", () => this.show());
  }

  size() {
    const { clientWidth: width, clientHeight: height } = this.box;
    if (!width || !height) return;
    const sized = [width, height, Math.min(devicePixelRatio, 2)];
    if (String(sized) !== String(this.sized)) {
      this.sized = sized;
      this.renderer.setPixelRatio(sized[2]);
      this.renderer.setSize(width, height, false);
    }
    this.camera.aspect = width / height;
    // A legend stands at the left: the picture moves half its width aside, as far as there is room.
    const shift = Math.min(this.aside ?? 0, 0.45 * width) / 2;
    if (shift) this.camera.setViewOffset(width, height, -shift, 0, width, height);
    else this.camera.clearViewOffset();
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.now();
    });
  }

  now() {
    this.beforeDrawing();
    this.renderer.render(this.scene, this.camera);
  }

  turn(angle) {
    this.world.rotation.y = this.painted.rotation.y = angle;
  }

  put(scene) {
    const first = !this.shown;
    this.shown = scene;
    this.build(scene);
    const around = JSON.stringify([scene.swing, scene.envelope]);
    if (around !== this.around) {
      this.around = around;
      dispose(this.over);
      this.overlays(scene);
    }
    if (first) this.look(document.querySelector('.overlays [data-view="iso"]'));
    this.show();
    if (first) this.size();
    document.body.dataset.scene = "drawn";
  }

  // Making shapes and their materials ready costs most, so what comes again is kept.
  build(scene) {
    const before = this.shapes;
    this.shapes = new Map();
    const mouths = new Set(scene.pieces.filter((piece) => piece.kind === "mouth").map((piece) => piece.shape));
    const shapes = scene.shapes.map((layers, number) => {
      const flat = mouths.has(number);
      const key = JSON.stringify([flat, layers]);
      const shape = this.shapes.get(key) ?? before.get(key) ?? (flat ? this.mouth(layers) : this.shape(layers));
      this.shapes.set(key, shape);
      return shape;
    });
    const used = { solids: 0, edges: 0 };
    for (const piece of scene.pieces) {
      const shape = shapes[piece.shape];
      this.place("solids", used.solids++, piece, shape.solid).material.color.set(PARTS[piece.role] ?? COLOURS[piece.kind]);
      if (piece.kind !== "mouth") this.place("edges", used.edges++, piece, shape.edges);
    }
    for (const kind of ["solids", "edges"]) {
      for (const each of this[kind].splice(used[kind])) {
        each.material.dispose();
        this.world.remove(each);
      }
    }
    for (const [key, shape] of before) {
      if (this.shapes.has(key)) continue;
      shape.solid.dispose();
      shape.edges?.dispose();
    }
  }

  shape(layers) {
    const solids = layers.map(([low, high, rings]) => {
      const solid = new this.three.ExtrudeGeometry(this.outline(rings), { depth: high - low, bevelEnabled: false, curveSegments: 1 });
      return solid.translate(0, 0, low);
    });
    const edges = new this.three.BufferGeometry();
    edges.setAttribute("position", new this.three.BufferAttribute(Float32Array.from(edgesOf(layers)), 3));
    return { solid: this.joined(solids, ["position", "normal"]), edges };
  }

  // The mouths at either end of a hole are only seen from outside: flat, at the outer end of their layers.
  mouth(layers) {
    const middle = layers.reduce((sum, [low, high]) => sum + low + high, 0) / layers.length;
    const flats = layers.map(([low, high, rings]) => {
      const flat = new this.three.ShapeGeometry(this.outline(rings));
      const upper = low + high >= middle;
      if (!upper) {
        flat.index.array.reverse();
        flat.scale(1, 1, -1);
      }
      return flat.toNonIndexed().translate(0, 0, upper ? high : low);
    });
    return { solid: this.joined(flats, ["position", "normal"]) };
  }

  outline([outer, ...holes]) {
    const { three } = this;
    const points = (ring) => ring.map(([x, y]) => new three.Vector2(x, y));
    const shape = new three.Shape(points(outer));
    shape.holes = holes.map((ring) => new three.Path(points(ring)));
    return shape;
  }

  joined(geometries, names) {
    const whole = new this.three.BufferGeometry();
    for (const name of names) {
      const numbers = geometries.map((each) => each.getAttribute(name).array);
      const all = new Float32Array(numbers.reduce((sum, each) => sum + each.length, 0));
      let at = 0;
      for (const each of numbers) {
        all.set(each, at);
        at += each.length;
      }
      whole.setAttribute(name, new this.three.BufferAttribute(all, 3));
    }
    return whole;
  }

  place(kind, index, piece, geometry) {
    const object = this[kind][index] ?? this.made(kind, geometry);
    const a = piece.axes;
    object.geometry = geometry;
    object.userData = piece;
    object.matrix.set(a[0], a[3], a[6], a[9], a[1], a[4], a[7], a[10], a[2], a[5], a[8], a[11], 0, 0, 0, 1);
    object.matrixWorldNeedsUpdate = true;
    return object;
  }

  made(kind, geometry) {
    const { three } = this;
    const object =
      kind === "edges"
        ? new three.LineSegments(geometry, new three.LineBasicMaterial({ color: 0x26221d, transparent: true, opacity: 0.55 }))
        : new three.Mesh(geometry, this.skin());
    object.matrixAutoUpdate = false;
    this[kind].push(object);
    this.world.add(object);
    return object;
  }

  skin() {
    const skin = new this.three.MeshBasicMaterial({ polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
    skin.glow = skin.color.clone().set(0);
    skin.onBeforeCompile = (shader) => {
      Object.assign(shader, { vertexShader: SHADE, fragmentShader: TINT });
      Object.assign(shader.uniforms, this.lit, { glow: { value: skin.glow } });
    };
    return skin;
  }

  overlays(scene) {
    const { three } = this;
    if (scene.swing) {
      const [radius, height] = scene.swing;
      for (const level of [0, height]) this.ring(radius, level);
      for (let step = 0; step < 4; step += 1) {
        const angle = (step * Math.PI) / 2 + Math.PI / 4;
        const [x, z] = [radius * Math.sin(angle), radius * Math.cos(angle)];
        this.path([[x, 0, z], [x, height, z]], "swing", 0x2b5c8a);
      }
    }
    if (scene.envelope) {
      const [x0, x1, y0, y1, z0, z1] = scene.envelope;
      const box = new three.Box3(new three.Vector3(x0, y0, z0), new three.Vector3(x1, y1, z1));
      const frame = new three.Box3Helper(box, 0x625b4f);
      frame.userData = { kind: "envelope" };
      this.over.add(frame);
    }
  }

  ring(radius, level) {
    const points = [];
    for (let step = 0; step <= 96; step += 1) {
      const angle = (step * Math.PI) / 48;
      points.push([radius * Math.sin(angle), level, radius * Math.cos(angle)]);
    }
    this.path(points, "swing", 0x2b5c8a);
  }

  path(points, kind, colour) {
    const { three } = this;
    const geometry = new three.BufferGeometry().setFromPoints(points.map((point) => new three.Vector3(...point)));
    const line = new three.Line(geometry, new three.LineBasicMaterial({ color: colour }));
    line.userData = { kind };
    this.over.add(line);
  }

  show() {
    const on = (name) => document.querySelector(`.overlays [data-show="${name}"]`).checked;
    const through = on("through");
    for (const each of this.world.children) {
      const { kind, role, name, inside } = each.userData;
      const veil = this.veil[kind];
      const mark = this.marked[name];
      each.visible = (kind !== "station" || on("station")) && veil !== "hidden" && !(each.isMesh && veil === "outlined") && (!inside || through || Boolean(mark));
      if (!each.isMesh) {
        each.material.color.set(mark ?? 0x26221d);
        each.material.opacity = mark ? 1 : 0.55;
        continue;
      }
      each.material.glow.set(mark ?? 0).multiplyScalar(0.35);
      const clear = through && kind === "column" && role !== "void former" && role !== "anchor";
      each.material.transparent = clear;
      each.material.opacity = clear ? 0.22 : 1;
      each.material.depthWrite = !clear;
    }
    for (const each of this.over.children) each.visible = on(each.userData.kind);
    this.draw();
  }

  look(button) {
    if (!button || !this.shown) return;
    const { centre, radius } = this.shown;
    this.from(VIEWS[button.dataset.view], centre, radius);
    for (const each of document.querySelectorAll(".overlays [data-view]")) each.setAttribute("aria-pressed", String(each === button));
  }

  from(direction, centre, radius) {
    const way = new this.three.Vector3(...direction).normalize();
    const target = new this.three.Vector3(...centre);
    this.controls.target.copy(target);
    this.camera.position.copy(target).addScaledVector(way, radius * 4.0);
    this.controls.update();
    for (const each of document.querySelectorAll(".overlays [data-view]")) each.setAttribute("aria-pressed", "false");
    this.draw();
  }
}

// Edges of a prism: around both ends, and up its sides where the outline turns by more than some degrees.
export function edgesOf(layers) {
  const level = new Map();
  const upright = [];
  for (const [low, high, rings] of layers) {
    for (const ring of rings) {
      ring.forEach(([x, y], k) => {
        const [fromX, fromY] = ring.at(k - 1);
        const [toX, toY] = ring[(k + 1) % ring.length];
        const ends = x < toX || (x === toX && y < toY) ? `${x} ${y} ${toX} ${toY}` : `${toX} ${toY} ${x} ${y}`;
        for (const z of [low, high]) {
          // Where one layer stands on another with the same side, the side runs on: no edge.
          const key = `${ends} ${z}`;
          if (!level.delete(key)) level.set(key, [x, y, z, toX, toY, z]);
        }
        const [ax, ay, bx, by] = [x - fromX, y - fromY, toX - x, toY - y];
        if (ax * bx + ay * by < SHARP * Math.hypot(ax, ay) * Math.hypot(bx, by)) upright.push(x, y, low, x, y, high);
      });
    }
  }
  return [...level.values()].flat().concat(upright);
}

export function dispose(group) {
  for (const each of [...group.children]) {
    each.geometry?.dispose();
    each.material?.map?.dispose();
    each.material?.dispose();
    group.remove(each);
  }
}
