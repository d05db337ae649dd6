// The piece in three dimensions, built here from a short description; three.js is fetched only
// when this picture is opened. Drawn when something moved, not all the time.

import { Collector, addJoint, addSolid, halved, sectorsOf } from "./solid.js";

const TURN = 2 * Math.PI;
const CUT = [Math.PI / 2, 1.5 * Math.PI]; // the half that stays: its open face looks to the front

const views = new Map();

async function start(root) {
  root.dataset.ready = "yes";
  const holder = root.querySelector(".model-view");
  let three;
  let data;
  try {
    [three, data] = await Promise.all([
      import(root.dataset.three),
      fetch(root.dataset.look).then((reply) => reply.json()),
    ]);
    build(root, holder, three, data);
  } catch (problem) {
    // No 3D on this device: the drawn picture stays.
    root.classList.add("still-only");
    console.info(`The drawn picture stays: ${problem.message}`);
  }
}

function grained(three, colour, grain, seed) {
  const size = 256;
  const canvas = document.createElement("canvas");
  canvas.width = size;
  canvas.height = size;
  const pen = canvas.getContext("2d");
  pen.fillStyle = colour;
  pen.fillRect(0, 0, size, size);
  pen.strokeStyle = grain;
  let random = seed * 7919 + 17;
  const next = () => {
    random = (random * 16807) % 2147483647;
    return random / 2147483647;
  };
  for (let k = 0; k < 46; k += 1) {
    const y = next() * size;
    pen.globalAlpha = 0.08 + 0.22 * next();
    pen.lineWidth = 0.6 + 1.6 * next();
    const sway = 2 + 5 * next();
    for (const lift of [-size, 0, size]) {
      pen.beginPath();
      pen.moveTo(0, y + lift);
      pen.bezierCurveTo(size * 0.33, y + lift + sway, size * 0.66, y + lift - sway, size, y + lift);
      pen.stroke();
    }
  }
  const texture = new three.CanvasTexture(canvas);
  texture.colorSpace = three.SRGBColorSpace;
  texture.wrapS = three.RepeatWrapping;
  texture.wrapT = three.RepeatWrapping;
  texture.anisotropy = 4;
  return texture;
}

function meshesOf(three, materials, lineMaterials, ring, along, cut, seed) {
  const group = new three.Group();
  const byWood = new Map();
  const lines = new Map();
  const triangulate = (points) =>
    three.ShapeUtils.triangulateShape(points.map(([r, z]) => new three.Vector2(r, z)), []);
  let number = seed;
  const [from, to] = cut ? CUT : [-TURN, 2 * TURN];
  for (const sector of sectorsOf(ring)) {
    number += 1;
    const pieces = cut ? halved(sector, from, to) : [{ ...sector, capLow: sector.open, capHigh: sector.open }];
    for (const piece of pieces) {
      if (!byWood.has(piece.wood)) byWood.set(piece.wood, new Collector());
      for (const outline of ring.outlines) {
        addSolid(byWood.get(piece.wood), outline, piece, ring.n, number, along, triangulate);
        if (!sector.whole) {
          if (!lines.has(piece.wood)) lines.set(piece.wood, []);
          addJoint(lines.get(piece.wood), outline, piece.from);
        }
      }
    }
  }
  for (const [wood, made] of byWood) {
    const geometry = new three.BufferGeometry();
    geometry.setAttribute("position", new three.BufferAttribute(new Float32Array(made.position), 3));
    geometry.setAttribute("normal", new three.BufferAttribute(new Float32Array(made.normal), 3));
    geometry.setAttribute("uv", new three.BufferAttribute(new Float32Array(made.uv), 2));
    geometry.setIndex(made.index);
    group.add(new three.Mesh(geometry, materials[wood]));
  }
  for (const [wood, at] of lines) {
    const geometry = new three.BufferGeometry();
    geometry.setAttribute("position", new three.BufferAttribute(new Float32Array(at), 3));
    group.add(new three.LineSegments(geometry, lineMaterials[wood]));
  }
  return group;
}

function build(root, holder, three, data) {
  const key = location.pathname;
  const state = views.get(key) ?? { cut: false, apart: 0, part: "", eye: null };
  views.set(key, state);
  const renderer = new three.WebGLRenderer({ antialias: true, alpha: true });
  renderer.domElement.className = "model-canvas";
  renderer.domElement.setAttribute("role", "img");
  renderer.domElement.setAttribute("aria-label", "The piece in three dimensions");
  const scene = new three.Scene();
  const camera = new three.PerspectiveCamera(28, 1, 1, 20000);
  scene.add(new three.HemisphereLight(0xfff6e6, 0xa08a6c, 1.9));
  const sun = new three.DirectionalLight(0xfff4e0, 1.9);
  sun.position.set(-0.7, 1, 0.9);
  scene.add(sun);
  const back = new three.DirectionalLight(0xdfe8ff, 0.5);
  back.position.set(0.9, 0.3, -0.8);
  scene.add(back);
  const materials = data.woods.map(
    (wood, k) =>
      new three.MeshStandardMaterial({
        map: grained(three, wood.colour, wood.grain, k + 1),
        roughness: 0.52,
        metalness: 0,
        side: three.DoubleSide,
      }),
  );
  const lineMaterials = data.woods.map(
    (wood) => new three.LineBasicMaterial({ color: wood.grain, transparent: true, opacity: 0.75 }),
  );

  const reach = reachOf(data);
  const middle = (reach.low + reach.high) / 2;
  const controls = new three.OrbitControls(camera, renderer.domElement);
  controls.enableDamping = false;
  controls.target.set(0, middle, 0);
  let piece = new three.Group();
  let levels = [];
  let frame = 0;

  function render() {
    frame = 0;
    renderer.render(scene, camera);
    state.eye = camera.position.toArray();
    root.dataset.frames = String(Number(root.dataset.frames ?? 0) + 1);
  }
  const later = () => {
    if (!frame) frame = requestAnimationFrame(render);
  };

  function compose() {
    for (const one of levels) {
      for (const mesh of one.group.children) mesh.geometry.dispose();
    }
    scene.remove(piece);
    piece = new three.Group();
    levels = [];
    let seed = 0;
    for (const part of data.parts) {
      if (state.part && part.id !== state.part) continue;
      for (const ring of part.rings) {
        const along = part.kind === "spindle";
        const group = meshesOf(three, materials, lineMaterials, ring, along, state.cut, seed);
        seed += ring.n + 1;
        piece.add(group);
        levels.push({ group, height: heightOf(ring) });
      }
    }
    levels.sort((a, b) => a.height - b.height);
    scene.add(piece);
    spread();
  }

  function spread() {
    const step = (state.apart / 100) * (reach.high - reach.low) * (1.2 / Math.max(4, levels.length));
    levels.forEach(({ group }, k) => {
      group.position.y = (k - (levels.length - 1) / 2) * step;
    });
    later();
  }

  // How far away the whole piece just fits, seen from a direction that rises by `up` of 1.
  function farFor(up) {
    const high = (reach.high - reach.low) * Math.sqrt(1 - up * up) + 2 * reach.radius * Math.abs(up);
    const box = holder.getBoundingClientRect();
    const wide = (2 * reach.radius * box.height) / Math.max(1, box.width);
    return (1.14 * Math.max(high, wide)) / (2 * Math.tan((camera.fov * Math.PI) / 360)) + 0.7 * reach.radius;
  }

  function look(from) {
    const [x, y, z] = from;
    const length = Math.hypot(x, y, z);
    const far = farFor(y / length);
    camera.position.set((x / length) * far, middle + (y / length) * far, (z / length) * far);
    controls.update();
    later();
  }

  function size() {
    const box = holder.getBoundingClientRect();
    if (!box.width) return;
    renderer.setPixelRatio(Math.min(2, window.devicePixelRatio));
    renderer.setSize(box.width, box.height, false);
    camera.aspect = box.width / box.height;
    camera.updateProjectionMatrix();
    later();
  }

  controls.addEventListener("change", later);
  const tool = (name) => root.querySelector(`[data-view="${name}"]`);
  tool("cut").setAttribute("aria-pressed", String(state.cut));
  tool("apart").value = state.apart;
  tool("part").value = state.part;
  tool("cut").addEventListener("click", () => {
    state.cut = !state.cut;
    tool("cut").setAttribute("aria-pressed", String(state.cut));
    compose();
  });
  tool("front").addEventListener("click", () => look([0, 0.16, 1]));
  tool("above").addEventListener("click", () => look([0.001, 1, 0.25]));
  tool("apart").addEventListener("input", (event) => {
    state.apart = Number(event.target.value);
    spread();
  });
  tool("part").addEventListener("change", (event) => {
    state.part = event.target.value;
    compose();
  });

  holder.replaceChildren(renderer.domElement);
  compose();
  if (state.eye) {
    camera.position.set(...state.eye);
    controls.update();
  } else look([-0.35, 0.34, 1]);
  new ResizeObserver(size).observe(holder);
  size();
  root.dataset.built = "yes";
}

function heightOf(ring) {
  const outline = ring.outlines[0] ?? [0, 0];
  let sum = 0;
  for (let k = 1; k < outline.length; k += 2) sum += outline[k];
  return sum / (outline.length / 2);
}

function reachOf(data) {
  const reach = { radius: 1, low: Infinity, high: -Infinity };
  for (const part of data.parts) {
    for (const ring of part.rings) {
      for (const outline of ring.outlines) {
        for (let k = 0; k < outline.length; k += 2) {
          reach.radius = Math.max(reach.radius, outline[k]);
          reach.low = Math.min(reach.low, outline[k + 1]);
          reach.high = Math.max(reach.high, outline[k + 1]);
        }
      }
    }
  }
  return reach;
}

function find() {
  for (const root of document.querySelectorAll(".model:not([data-ready])")) start(root);
}
document.addEventListener("htmx:load", find);
find();
