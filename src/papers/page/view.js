"use strict";
// What all scripts of the page share, and the stage: the link in three dimensions, turned, cut, measured.
const Bench = { data: {} };
(() => {
  const $ = (id) => document.getElementById(id), data = Bench.data;
  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  const add = (parent, tag, text, kind) => {
    const e = document.createElement(tag);
    if (text !== undefined) e.textContent = text;
    if (kind) e.className = kind;
    parent.append(e);
    return e;
  };
  // A name may break after its dots.
  const dotted = (parent, name) => name.split(".").forEach((part, i, all) => {
    parent.append(i + 1 < all.length ? `${part}.` : part);
    if (i + 1 < all.length) add(parent, "wbr");
  });
  const mm = (v) => v.toFixed(3);
  Object.assign(Bench, { $, add, dotted, mm });

  // The stage.
  let renderer = null;
  const scene = new THREE.Scene();
  const camera = new THREE.PerspectiveCamera(24, 1, 0.05, 400);
  const canvas = $("view");
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  } catch {
    $("said").textContent = "This browser shows no 3D here; the tables and the sheet below are complete.";
  }
  scene.add(new THREE.HemisphereLight(0xffffff, 0x8a8078, 1.6));
  for (const [x, y, z, f] of [[4, -6, 8, 2.2], [-7, 3, 4, 1.1], [2, 6, -6, 0.6]]) {
    const l = new THREE.DirectionalLight(0xffffff, f);
    l.position.set(x, y, z);
    scene.add(l);
  }
  // Two sets, one shown at a time: link and joint, or the clasp. A body is a group: metal, its inside, edges.
  const sets = { link: new THREE.Group(), clasp: new THREE.Group() }, mark = new THREE.Group(), picked = new THREE.Group();
  const body = () => Object.assign(new THREE.Group(), { matrixAutoUpdate: false });
  const link = body(), next = body(), stone = body();
  sets.link.add(link, next, stone);
  scene.add(sets.link, sets.clasp, mark, picked);
  let set = "link";
  const bodies = () => sets[set].children.filter((g) => g.visible && g.children.length && g !== coloured);
  const plane = new THREE.Plane();
  const empty = new THREE.Box3();
  const eye = { turn: -0.9, rise: 0.5, far: 20, at: new THREE.Vector3() };

  function geometry(m) {
    const p = new Float32Array(bytes(m.positions)), t = new Uint32Array(bytes(m.triangles));
    const n = new Int8Array(bytes(m.normals)), spread = new Float32Array(t.length * 3);
    t.forEach((v, i) => spread.set(p.subarray(3 * v, 3 * v + 3), 3 * i));
    const shape = new THREE.BufferGeometry(), lines = new THREE.BufferGeometry();
    shape.setAttribute("position", new THREE.BufferAttribute(spread, 3));
    shape.setAttribute("normal", new THREE.BufferAttribute(n, 3, true));
    lines.setAttribute("position", new THREE.BufferAttribute(new Float32Array(bytes(m.edges)), 3));
    return { shape, lines, faces: new Uint16Array(bytes(m.face)), names: m.names, level: m.level };
  }
  function fill(group, g, title, colour) {
    for (const old of group.children) old.material.dispose();
    group.clear();
    const metal = new THREE.MeshStandardMaterial({ color: colour ?? data.shape.colour, metalness: colour ? 0 : 0.35, roughness: colour ? 0.1 : 0.34, side: THREE.FrontSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
    if (colour) Object.assign(metal, { transparent: true, opacity: 0.55, depthWrite: false });
    group.add(new THREE.Mesh(g.shape, metal), new THREE.Mesh(g.shape, new THREE.MeshBasicMaterial({ color: colour ?? 0xb4552d, side: THREE.BackSide, visible: !colour })));
    group.add(new THREE.LineSegments(g.lines, new THREE.LineBasicMaterial({ color: 0x2b2620 })));
    group.userData = { faces: g.faces, names: g.names, level: g.level, title };
  }
  const own = {};
  function build() {
    own.link = geometry(data.shape.mesh);
    own.stone = data.shape.stone && geometry(data.shape.stone);
    fill(link, own.link, "");
    fill(next, own.link, "next link");
    if (own.stone) fill(stone, own.stone, "stone", GLASS);
  }
  const GLASS = 0x8fb4c9;
  // The walls by colour: a mesh of its own in the place of the metal, unlit, so that its colours are those of the scale.
  const NOTHING = [232, 236, 240], coloured = new THREE.Group();
  let thick = null;
  function painted(m) {
    const q = new Uint16Array(bytes(m.positions)), wide = q.length / 3 > 65536, t = wide ? new Uint32Array(bytes(m.triangles)) : new Uint16Array(bytes(m.triangles));
    const depth = new Uint16Array(bytes(m.depth)), place = new Float32Array(3 * t.length), colour = new Uint8Array(3 * t.length), last = m.stops.length - 1;
    t.forEach((v, i) => {
      for (let k = 0; k < 3; k++) place[3 * i + k] = m.low[k] + (q[3 * v + k] / 65535) * m.size;
      const d = depth[Math.floor(i / 3)], s = Math.min(1, d / 1000 / m.end) * last, a = m.stops[Math.floor(s)], b = m.stops[Math.min(last, Math.floor(s) + 1)];
      for (let k = 0; k < 3; k++) colour[3 * i + k] = d === 65535 ? NOTHING[k] : a[k] + (b[k] - a[k]) * (s - Math.floor(s));
    });
    const shape = new THREE.BufferGeometry();
    shape.setAttribute("position", new THREE.BufferAttribute(place, 3));
    shape.setAttribute("color", new THREE.BufferAttribute(colour, 3, true));
    for (const old of coloured.children) old.geometry.dispose();
    coloured.clear();
    // Numbers of the scale are those of the screen: no light and no change of colour space is to touch them.
    const paint = new THREE.ShaderMaterial({
      clipping: true, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
      vertexShader: "#include <clipping_planes_pars_vertex>\nattribute vec3 color;\nvarying vec3 c;\nvoid main() {\n#include <begin_vertex>\n#include <project_vertex>\n#include <clipping_planes_vertex>\nc = color;\n}",
      fragmentShader: "#include <clipping_planes_pars_fragment>\nvarying vec3 c;\nvoid main() {\n#include <clipping_planes_fragment>\ngl_FragColor = vec4(c, 1.0);\n}",
    });
    coloured.add(new THREE.Mesh(shape, paint));
    thick = { depth, end: m.end };
    const rgb = (c) => `rgb(${c.join(" ")})`, marks = $("scale");
    marks.replaceChildren();
    add(marks, "div", undefined, "bar").style.background = `linear-gradient(to top, ${m.stops.map(rgb).join(", ")})`;
    const figures = add(marks, "div", undefined, "marks");
    for (let i = 5; i >= 0; i--) add(figures, "span", `${((m.end * i) / 5).toFixed(2)}${i === 5 ? " mm and more" : ""}`);
    add(marks, "div", undefined, "none").style.background = rgb(NOTHING);
    add(marks, "span", "nothing opposite");
    marks.setAttribute("aria-label", `Scale of the walls: dark is 0, pale is ${m.end.toFixed(2)} mm and more, grey where nothing lies opposite. Samples, not limits.`);
  }
  sets.link.add(coloured);
  function around() {
    const all = empty.clone();
    for (const g of bodies()) all.union(new THREE.Box3().setFromObject(g));
    return all;
  }
  // The box that cuts go through: what is shown, the joint unturned and the clasp shut.
  function room() {
    const all = empty.clone();
    for (const g of set === "link" ? [link] : bodies()) {
      g.children[0].geometry.computeBoundingBox();
      const b = g.children[0].geometry.boundingBox;
      all.union(set === "link" ? b : new THREE.Box3().setFromObject(g));
    }
    return all;
  }
  function whole() {
    eye.own = false;
    const all = around();
    if (all.isEmpty()) return;
    all.getCenter(eye.at);
    const size = all.getSize(new THREE.Vector3()).length();
    eye.far = size / 2 / Math.sin((camera.fov * Math.PI) / 360) / Math.min(1, camera.aspect);
  }
  let waiting = false;
  const draw = () => {
    if (waiting || !renderer) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      const w = canvas.clientWidth, h = canvas.clientHeight;
      if (!w || !h) return;
      renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
      renderer.setSize(w, h, false);
      camera.aspect = w / h;
      camera.updateProjectionMatrix();
      const c = Math.cos(eye.rise);
      camera.position.set(Math.cos(eye.turn) * c, Math.sin(eye.turn) * c, Math.sin(eye.rise)).multiplyScalar(eye.far).add(eye.at);
      camera.up.set(0, 0, 1);
      if (Math.abs(eye.rise) > 1.57) camera.up.set(0, Math.sign(eye.rise), 0);
      camera.lookAt(eye.at);
      renderer.render(scene, camera);
      canvas.dataset.eye = [...camera.position.toArray(), ...eye.at.toArray()].map((v) => v.toFixed(4)).join(" ");
    });
  };
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  function go(to) {
    const from = { turn: eye.turn, rise: eye.rise, far: eye.far, at: eye.at.clone() }, start = performance.now();
    const step = (now) => {
      const s = calm.matches ? 1 : Math.min(1, (now - start) / 350), k = s * s * (3 - 2 * s);
      for (const key of ["turn", "rise", "far"]) if (to[key] !== undefined) eye[key] = from[key] + (to[key] - from[key]) * k;
      if (to.at) eye.at.lerpVectors(from.at, to.at, k);
      draw();
      if (s < 1) requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }
  const looks = { corner: [-0.9, 0.5], side: [-Math.PI / 2, 0], end: [0, 0], top: [-Math.PI / 2, Math.PI / 2 - 1e-4], skin: [-Math.PI / 2, -Math.PI / 2 + 1e-4] };
  $("looks").addEventListener("click", (e) => {
    const l = looks[e.target.dataset.look];
    if (!l) return;
    const now = { far: eye.far, at: eye.at.clone() };
    whole();
    const to = { turn: l[0], rise: l[1], far: eye.far, at: eye.at.clone() };
    Object.assign(eye, now);
    go(to);
  });

  // Fingers, mouse, keys.
  const fingers = new Map();
  let moved = 0;
  const turn = (dx, dy) => {
    eye.turn -= dx * 0.008;
    eye.rise = Math.max(-1.57, Math.min(1.57, eye.rise + dy * 0.008));
    draw();
  };
  const shift = (dx, dy) => {
    eye.own = true;
    const k = (eye.far * 2 * Math.tan((camera.fov * Math.PI) / 360)) / canvas.clientHeight;
    eye.at.addScaledVector(new THREE.Vector3().setFromMatrixColumn(camera.matrix, 0), -dx * k).addScaledVector(new THREE.Vector3().setFromMatrixColumn(camera.matrix, 1), dy * k);
  };
  const near = (k) => {
    eye.own = true;
    eye.far = Math.max(0.6, Math.min(120, eye.far * k));
    draw();
  };
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
    moved = 0;
  });
  canvas.addEventListener("pointermove", (e) => {
    const was = fingers.get(e.pointerId);
    if (!was) return;
    const dx = e.clientX - was[0], dy = e.clientY - was[1];
    moved += Math.abs(dx) + Math.abs(dy);
    if (fingers.size === 2) {
      const other = [...fingers].find(([id]) => id !== e.pointerId)[1];
      const before = Math.hypot(was[0] - other[0], was[1] - other[1]), after = Math.hypot(e.clientX - other[0], e.clientY - other[1]);
      shift(dx / 2, dy / 2);
      near(before / Math.max(after, 1));
    } else if (e.shiftKey || e.buttons === 2 || e.buttons === 4) {
      shift(dx, dy);
      draw();
    } else turn(dx, dy);
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
  });
  const lift = (e) => {
    if (fingers.delete(e.pointerId) && e.type === "pointerup" && moved < 5) pick(e);
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    near(Math.exp(e.deltaY * 0.0012));
  }, { passive: false });
  canvas.addEventListener("keydown", (e) => {
    const keys = { ArrowLeft: [-14, 0], ArrowRight: [14, 0], ArrowUp: [0, -14], ArrowDown: [0, 14] };
    if (keys[e.key]) turn(...keys[e.key]);
    else if (e.key === "+" || e.key === "=") near(0.85);
    else if (e.key === "-") near(1 / 0.85);
    else if (e.key === "0") { whole(); draw(); }
    else return;
    e.preventDefault();
  });

  // Places: what is under the finger, and how far two places are apart.
  const ends = [];
  const dot = (group, p, size, colour) => {
    const s = new THREE.Mesh(new THREE.SphereGeometry(size, 16, 12), new THREE.MeshBasicMaterial({ color: colour, depthTest: false, transparent: true }));
    s.position.copy(p);
    s.renderOrder = 2;
    group.add(s);
  };
  const tie = (group, a, b, colour) => {
    const g = new THREE.BufferGeometry();
    g.setAttribute("position", new THREE.BufferAttribute(new Float32Array([...a.toArray(), ...b.toArray()]), 3));
    const l = new THREE.LineSegments(g, new THREE.LineBasicMaterial({ color: colour, depthTest: false, transparent: true }));
    l.renderOrder = 2;
    group.add(l);
  };
  function pick(e) {
    const r = canvas.getBoundingClientRect(), ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2(((e.clientX - r.left) / r.width) * 2 - 1, 1 - ((e.clientY - r.top) / r.height) * 2), camera);
    const on = bodies().filter((g) => g !== stone).map((g) => g.children[0]);
    const hit = ray.intersectObjects(on).find((h) => $("cut").value === "none" || plane.distanceToPoint(h.point) >= 0);
    if (!hit) return;
    const of = hit.object.parent, u = of.userData, face = u.faces[hit.faceIndex];
    const name = u.names[face] + (u.title ? ` (${u.title})` : "");
    $("said").textContent = name + under(ray, of);
    if ($("measure").getAttribute("aria-pressed") !== "true") return;
    if (ends.length === 2) ends.length = 0;
    ends.push({ name, at: hit.point, of, spot: { face: u.names[face], piece: u.number }, level: u.level?.[face] });
    picked.clear();
    for (const p of ends) dot(picked, p.at, 0.05, 0xc02a8a);
    if (ends.length === 2) {
      tie(picked, ends[0].at, ends[1].at, 0xc02a8a);
      const [p, q] = ends, chord = set === "link" ? data.shape.chord : Math.max(data.shape.chord, data.clasp.chord);
      $("measured").textContent = `mesh, ± ${mm(2 * chord)}: ${mm(p.at.distanceTo(q.at))} mm between the places pressed, on ${p.name} and ${q.name}`;
      const apart = p.of === q.of && p.spot.face !== q.spot.face ? level(p.level, q.level) : undefined;
      if (apart !== undefined) said(`solid, exact: ${mm(apart)} mm from ${p.name} to ${q.name}, square across`);
      const own = [p, q].every((e) => e.of === link || set === "clasp");
      if (Bench.exact && own && (p.of !== q.of || p.spot.face !== q.spot.face)) exact(p.spot, q.spot);
    } else $("measured").textContent = `from ${name} to …`;
    draw();
  }
  // Faces of one family of parallel or coaxial surfaces are as far apart as their places in it.
  const level = (a, b) => (a && b && a[0] === b[0] ? Math.abs(a[1] - b[1]) : undefined);
  Bench.level = (m, a, b) => level(...[a, b].map((n) => m.level[m.names.indexOf(n)]));
  // With the walls by colour: what the sample under the finger says.
  function under(ray, of) {
    if (of !== link || !coloured.visible) return "";
    const hit = ray.intersectObject(coloured.children[0]).find((h) => $("cut").value === "none" || plane.distanceToPoint(h.point) >= 0);
    const d = hit && thick.depth[hit.faceIndex];
    return d === undefined ? "" : d === 65535 ? "; nothing lies opposite here" : `; ${(d / 1000).toFixed(2)} mm of metal under this place (a sample)`;
  }
  const said = (text) => add($("measured"), "span", text, "exact");
  let asked = 0;
  async function exact(a, b) {
    const mine = ++asked, found = await Bench.exact(a, b, Number($("open").value));
    if (mine !== asked || ends.length !== 2) return;
    said(found.text);
    if (!found.at) return;
    const [p, q] = found.at.map((v) => new THREE.Vector3(...v));
    for (const e of [p, q]) dot(picked, e, 0.035, 0x0a7d86);
    tie(picked, p, q, 0x0a7d86);
    draw();
  }
  $("measure").addEventListener("click", () => {
    const on = $("measure").getAttribute("aria-pressed") !== "true";
    $("measure").setAttribute("aria-pressed", String(on));
    $("measured").textContent = on ? "Press two places on the metal." : "";
    picked.clear();
    ends.length = 0;
    draw();
  });

  // Joint, parts, cut.
  function swing() {
    const j = data.shape?.joint;
    if (!j) return;
    const a = (Number($("swing").value) * Math.PI) / 180, c = Math.cos(a), s = Math.sin(a), x = j.pitch / 2, z = j.height;
    // About the pin, which lies across the line halfway between the links; then one pitch along.
    next.matrix.set(c, 0, s, x + c * x - s * z, 0, 1, 0, 0, -s, 0, c, z - s * x - c * z, 0, 0, 0, 1);
    next.updateMatrixWorld(true);
    $("swing-said").textContent = `${Number($("swing").value).toFixed(1)}°`;
    draw();
  }
  $("swing").addEventListener("input", () => {
    if (!$("show-next").checked) {
      $("show-next").checked = true;
      shown();
      whole();
    }
    swing();
  });

  // The clasp: its pieces stand where the file says for each angle of the leaf.
  function clasp() {
    const c = data.clasp, told = Boolean(c?.parts);
    $("what-set").hidden = !c;
    $("clasp-why").textContent = c?.why ? `The clasp is not shown: ${c.why}` : "";
    document.querySelector("input[name=what][value=clasp]").disabled = !told;
    if (!told && set === "clasp") choose("link");
    for (const g of sets.clasp.children) for (const m of g.children) m.material.dispose();
    sets.clasp.clear();
    const was = new Set([...document.querySelectorAll("#clasp-parts input:not(:checked)")].map((i) => i.name));
    $("clasp-parts").replaceChildren();
    if (!told) return;
    const of = Object.fromEntries(c.parts.map((p) => [p.name, { ...p, geometry: geometry(p.mesh) }]));
    $("open").step = c.step;
    of.link = { title: "first link of the line", geometry: own.link };
    if (own.stone) of.stone = { title: "stones", geometry: own.stone };
    for (const piece of c.pieces) {
      const p = of[piece.part];
      if (!p) continue;
      const g = body();
      fill(g, p.geometry, p.title, piece.part === "stone" ? GLASS : undefined);
      g.userData = { ...g.userData, piece, part: piece.part, number: c.pieces.indexOf(piece) };
      sets.clasp.add(g);
    }
    for (const [name, p] of Object.entries(of)) {
      const label = add($("clasp-parts"), "label"), box = add(label, "input");
      Object.assign(box, { type: "checkbox", name, checked: !(was.has(name) || (name === "stone" && !was.size)) });
      label.append(` ${p.title}`);
      box.addEventListener("change", shown);
    }
    open();
  }
  function open() {
    $("open-said").textContent = `${$("open").value}°`;
    if (!data.clasp?.parts) return;
    const at = Number($("open").value) / data.clasp.step;
    for (const g of sets.clasp.children) {
      const { frames } = g.userData.piece, [ox, oy, oz, ux, uy, uz, vx, vy, vz] = frames[Math.min(at, frames.length - 1)];
      g.matrix.set(ux, vx, uy * vz - uz * vy, ox, uy, vy, uz * vx - ux * vz, oy, uz, vz, ux * vy - uy * vx, oz, 0, 0, 0, 1);
      g.updateMatrixWorld(true);
    }
    draw();
  }
  $("open").addEventListener("input", () => {
    open();
    // Whoever has gone near to something keeps it in view.
    if (!eye.own) whole();
  });
  function choose(name) {
    set = name;
    document.querySelector(`input[name=what][value=${name}]`).checked = true;
    for (const e of document.querySelectorAll("[data-set]")) e.hidden = e.dataset.set !== name;
    $("swing-set").hidden ||= !data.shape?.joint;
    mark.clear();
    picked.clear();
    ends.length = 0;
    shown();
    cut();
    whole();
    draw();
  }
  $("what-set").addEventListener("change", (e) => choose(e.target.value));
  function shown() {
    sets.link.visible = set === "link";
    sets.clasp.visible = set === "clasp";
    link.visible = $("show-link").checked;
    next.visible = Boolean(data.shape?.joint) && $("show-next").checked;
    stone.visible = $("show-stone").checked;
    const map = $("show-walls").checked && thick !== null;
    coloured.visible = map && link.visible;
    $("scale").hidden = !coloured.visible || set !== "link";
    if (link.children[0]) link.children[0].material.visible = !coloured.visible;
    const off = new Set([...document.querySelectorAll("#clasp-parts input:not(:checked)")].map((i) => i.name));
    for (const g of sets.clasp.children) g.visible = !off.has(g.userData.part);
    for (const g of [...sets.link.children, ...sets.clasp.children]) if (g.children[2]) g.children[2].visible = $("show-edges").checked;
    draw();
  }
  for (const id of ["show-link", "show-edges", "show-stone"]) $(id).addEventListener("change", shown);
  $("show-walls").addEventListener("change", () => { Bench.walls?.(); shown(); });
  // The link is another: its colours are gone until they are known again.
  Bench.unpainted = () => { thick = null; coloured.clear(); shown(); };
  Bench.painted = (m) => { painted(m); shown(); };
  $("show-next").addEventListener("change", () => { shown(); whole(); draw(); });
  function cut() {
    const axis = $("cut").value;
    $("cut-at").disabled = axis === "none";
    $("cut-said").textContent = "";
    if (axis === "none") {
      if (renderer) renderer.clippingPlanes = [];
    } else {
      const box = room(), lo = box.min[axis], hi = box.max[axis], at = lo + (hi - lo) * Number($("cut-at").value), way = axis === "y" ? 1 : -1;
      plane.normal.set(0, 0, 0);
      plane.normal[axis] = way;
      plane.constant = -way * at;
      if (renderer) renderer.clippingPlanes = [plane];
      $("cut-said").textContent = `${axis} = ${at.toFixed(2)}`;
    }
    draw();
  }
  $("cut").addEventListener("input", cut);
  $("cut-at").addEventListener("input", cut);

  function visit(w) {
    if (set !== "link") choose("link");
    const [a, b] = w.at.map((p) => new THREE.Vector3(...p)), m = a.clone().lerp(b, 0.5), long = a.distanceTo(b);
    mark.clear();
    for (const p of [a, b]) dot(mark, p, Math.max(0.02, Math.min(0.05, long / 8)), 0xd1006f);
    if (long > 0) tie(mark, a, b, 0xd1006f);
    const out = m.clone().sub(room().getCenter(new THREE.Vector3()));
    const to = { at: m, far: Math.max(3.5, long * 9), rise: 0.35 };
    if (Math.hypot(out.x, out.y) > 1e-6) {
      // The short way round, and from a little beside, so that the chord is seen.
      const want = Math.atan2(out.y, out.x) - 0.7, round = 2 * Math.PI;
      to.turn = want + round * Math.round((eye.turn - want) / round);
    }
    const length = typeof w.value_mm === "number" ? `${mm(w.value_mm)} mm ` : "";
    $("said").textContent = `${w.point}: ${length}between ${w.between[0]} and ${w.between[1]}`;
    go(to);
    $("stage").scrollIntoView({ block: "nearest" });
  }
  Bench.visit = visit;
  // A new link, or the first; the eye stays where it is.
  Bench.stage = () => {
    build();
    if (data.map) painted(data.map);
    $("with-walls").hidden = !(data.map || Bench.walls);
    const j = data.shape.joint;
    $("with-next").hidden = $("swing-set").hidden = !j;
    if (j) {
      // Whole steps from 0, so that 0 can be reached.
      $("swing").min = -Math.floor(j.outward * 2) / 2;
      $("swing").max = Math.floor(j.inward * 2) / 2;
    }
    mark.clear();
    picked.clear();
    ends.length = 0;
    asked += 1;
    swing();
    shown();
    clasp();
    cut();
    if (eye.placed) return;
    eye.placed = true;
    camera.aspect = canvas.clientWidth / Math.max(1, canvas.clientHeight);
    whole();
    draw();
  };
  Bench.clasp = () => { clasp(); shown(); };
  new ResizeObserver(draw).observe(canvas);
  addEventListener("beforeprint", draw);
})();
