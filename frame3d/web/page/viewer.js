"use strict";
// The customer's page: one WebGL canvas, no library, nothing from the network.
(() => {
  const $ = (id) => document.getElementById(id);
  const canvas = $("view"), marks = $("marks"), told = $("told"), INVITE = told.textContent;
  const gl = canvas.getContext("webgl", { antialias: true, alpha: true, premultipliedAlpha: false });
  if (!gl) { follow(() => location.reload()); return; } // the drawing and the tables stay

  // ---- small matrix work: 3-vectors as arrays
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const sub = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
  const unit = (a) => { const s = Math.hypot(...a) || 1; return a.map((x) => x / s); };

  // ---- programs
  const VERTEX = `attribute vec3 position, normal, pull; attribute vec3 tint;
    uniform mat4 seen; uniform mat3 turned; uniform float apart;
    varying vec3 n; varying vec3 t;
    void main() { n = turned * normal; t = tint; gl_Position = seen * vec4(position + apart * pull, 1.0); }`;
  const FRAGMENT = `precision mediump float; varying vec3 n; varying vec3 t;
    uniform vec3 colour; uniform float mode; uniform float glow;
    void main() {
      if (mode > 1.5) { gl_FragColor = vec4(t, 1.0); return; }
      if (mode > 0.5) { gl_FragColor = vec4(colour, 1.0); return; }
      vec3 m = normalize(n); if (m.z < 0.0) m = -m;
      vec3 key = normalize(vec3(-0.5, 0.8, 0.9)), fill = normalize(vec3(0.8, -0.2, 0.6));
      float lit = 0.30 + 0.55 * max(dot(m, key), 0.0) + 0.18 * max(dot(m, fill), 0.0) + 0.15 * m.z;
      float shine = pow(max(dot(m, normalize(key + vec3(0.0, 0.0, 1.0))), 0.0), 40.0);
      vec3 c = colour * lit + 0.30 * shine;
      gl_FragColor = vec4(mix(c, vec3(1.0, 0.72, 0.1), glow), 1.0); }`;
  const shader = (kind, text) => { const s = gl.createShader(kind); gl.shaderSource(s, text); gl.compileShader(s); return s; };
  const program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, VERTEX));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, FRAGMENT));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return;
  gl.useProgram(program);
  const at = {}, uni = {};
  for (const name of ["position", "normal", "pull", "tint"]) at[name] = gl.getAttribLocation(program, name);
  for (const name of ["seen", "turned", "apart", "colour", "mode", "glow"]) uni[name] = gl.getUniformLocation(program, name);
  const wide = gl.getExtension("OES_element_index_uint");

  // ---- data
  const bytes = (text) => {
    const plain = atob(text), array = new Uint8Array(plain.length);
    for (let i = 0; i < plain.length; i++) array[i] = plain.charCodeAt(i);
    return array.buffer;
  };
  const buffer = (array, kind = gl.ARRAY_BUFFER) => {
    const b = gl.createBuffer(); gl.bindBuffer(kind, b); gl.bufferData(kind, array, gl.STATIC_DRAW); return b;
  };
  const rgb = (hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255);
  let versions = [], made = new Map(), before = new Map(), scale = null;

  function load(mesh) { // what the last frame had too is on the graphics card already
    const key = JSON.stringify([mesh.low, mesh.step, mesh.pulls, mesh.tint, mesh.index, mesh.position]);
    if (!made.has(key)) made.set(key, before.get(key) || upload(mesh));
    return made.get(key);
  }
  function upload(mesh) {
    const position = Float32Array.from(new Uint16Array(bytes(mesh.position)), (q, i) => mesh.low[i % 3] + q * mesh.step[i % 3]);
    const count = position.length / 3, index = new (count > 65535 ? Uint32Array : Uint16Array)(bytes(mesh.index));
    if (count > 65535 && !wide) return null;
    const pull = new Float32Array(3 * count);
    if (mesh.pulls) {
      const { middle, axis, pulls } = mesh, start = dot(middle, axis);
      for (let i = 0; i < 3 * count; i += 3) {
        const late = position[i] * axis[0] + position[i + 1] * axis[1] + position[i + 2] * axis[2] >= start;
        pull.set(late ? pulls.end : pulls.start, i);
      }
    }
    const item = { count: index.length, wide: count > 65535, position: buffer(position), pull: buffer(pull),
      index: buffer(index, gl.ELEMENT_ARRAY_BUFFER) };
    if (mesh.normal) item.normal = buffer(new Int8Array(bytes(mesh.normal)));
    if (mesh.tint) item.tint = buffer(new Uint8Array(bytes(mesh.tint)));
    return item;
  }

  function take(data) {
    before = made; made = new Map(); scale = data.legend;
    versions = data.versions.map((version) => ({
      name: version.name, extremes: version.extremes,
      middle: [0, 1, 2].map((k) => { const all = version.extremes.map((p) => p[k]); return (Math.min(...all) + Math.max(...all)) / 2; }), dimensions: version.dimensions,
      pieces: version.pieces.map((piece) => ({ ...piece, gpu: load(piece), paint: null })),
      plates: version.plates.map((plate) => ({ ...plate, gpu: load(plate) })),
      ghosts: version.ghosts.map((ghost) => ({ ...ghost, gpu: load(ghost) })),
      collars: version.collars.map((collar) => ({ ...collar, gpu: load(collar) })),
    }));
    for (const [key, item] of before) if (item && !made.has(key)) {
      for (const part of ["position", "pull", "index", "normal", "tint"]) if (item[part]) gl.deleteBuffer(item[part]);
    }
    before = new Map();
  }

  // ---- camera: turn about z, then tip; both versions share it
  const START = { turn: 0.62, tip: 0.32, zoom: 1, move: [0, 0] };
  let camera = { ...START, move: [0, 0] }, chosen = null;
  const on = { dimensions: false, ghosts: true, apart: 0, gaps: true, beside: true };
  const shownVersions = () => (versions.length > 1 && !on.beside ? versions.slice(0, 1) : versions);

  function panes() {
    const list = shownVersions(), w = canvas.width, h = canvas.height, tall = h > w;
    return list.map((version, k) => ({ version, x: tall ? 0 : (k * w) / list.length, w: tall ? w : w / list.length,
      y: tall ? ((list.length - 1 - k) * h) / list.length : 0, h: tall ? h / list.length : h }));
  }

  function look(version, pane) {
    const c = Math.cos(camera.turn), s = Math.sin(camera.turn), ct = Math.cos(camera.tip), st = Math.sin(camera.tip);
    const right = [c, s, 0], back = [s * ct, -c * ct, st], up = cross(back, right); // back: towards the eye
    const flat = version.extremes.map((p) => [dot(p, right), dot(p, up)]);
    const [x0, x1, y0, y1] = [0, 1].flatMap((k) => [Math.min(...flat.map((q) => q[k])), Math.max(...flat.map((q) => q[k]))]);
    const half = [Math.max(1, (x1 - x0) / 2), Math.max(1, (y1 - y0) / 2)], middle = version.middle;
    const title = versions.length > 1 ? (28 * canvas.width) / canvas.clientWidth : 0; // its name stands above
    const scale = 0.9 * camera.zoom * Math.min(pane.w / half[0], (pane.h - title) / half[1]); // pixels for 2 mm
    const sx = scale / pane.w, sy = scale / pane.h, deep = 1 / 20000;
    const shift = [-((x0 + x1) / 2) * sx + camera.move[0] / camera.aspect(pane), -((y0 + y1) / 2) * sy + camera.move[1] - title / pane.h, dot(middle, back) * deep];
    return { right, up, back, turned: [right[0], up[0], back[0], right[1], up[1], back[1], right[2], up[2], back[2]],
      seen: [right[0] * sx, up[0] * sy, -back[0] * deep, 0, right[1] * sx, up[1] * sy, -back[1] * deep, 0,
        right[2] * sx, up[2] * sy, -back[2] * deep, 0, shift[0], shift[1], shift[2], 1] };
  }
  camera.aspect = START.aspect = (pane) => pane.w / pane.h;

  function bind(name, data, size, kind, normalized) {
    if (!data) { gl.disableVertexAttribArray(at[name]); gl.vertexAttrib3f(at[name], 0, 0, 1); return; }
    gl.bindBuffer(gl.ARRAY_BUFFER, data); gl.enableVertexAttribArray(at[name]);
    gl.vertexAttribPointer(at[name], size, kind, normalized, 0, 0);
  }

  function draw(gpu, mode, colour, glow = 0) {
    if (!gpu) return;
    bind("position", gpu.position, 3, gl.FLOAT, false);
    bind("pull", gpu.pull, 3, gl.FLOAT, false);
    bind("normal", gpu.normal, 3, gl.BYTE, true);
    bind("tint", gpu.tint, 3, gl.UNSIGNED_BYTE, true);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gpu.index);
    gl.uniform1f(uni.mode, mode); gl.uniform3fv(uni.colour, colour); gl.uniform1f(uni.glow, glow);
    gl.drawElements(gl.TRIANGLES, gpu.count, gpu.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT, 0);
  }

  const colourOf = (piece) => rgb(piece.paint || piece.colour);
  const isChosen = (v, p) => chosen && chosen.version === v && chosen.piece === p;

  function render(ids) { // ids: instead of colours, the number of each tube
    gl.enable(gl.DEPTH_TEST); gl.enable(gl.SCISSOR_TEST);
    panes().forEach((pane, v) => {
      gl.viewport(pane.x, pane.y, pane.w, pane.h); gl.scissor(pane.x, pane.y, pane.w, pane.h);
      gl.clearColor(0, 0, 0, 0); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      const eye = look(pane.version, pane);
      gl.uniformMatrix4fv(uni.seen, false, eye.seen); gl.uniformMatrix3fv(uni.turned, false, eye.turned);
      gl.uniform1f(uni.apart, on.apart);
      pane.version.pieces.forEach((piece, p) => {
        const id = v * 1024 + p + 1;
        if (ids) draw(piece.gpu, 1, [(id & 255) / 255, (id >> 8) / 255, 0]);
        else draw(piece.gpu, 0, colourOf(piece), isChosen(v, p) ? 0.45 : 0);
      });
      for (const ghost of [...pane.version.plates, ...(on.ghosts ? pane.version.ghosts : [])]) draw(ghost.gpu, ids ? 1 : 0, ids ? [0, 0, 0] : rgb(ghost.colour));
      if (on.gaps && !ids) for (const collar of pane.version.collars) draw(collar.gpu, 2, [0, 0, 0]);
    });
  }

  // ---- picking: draw numbers into a hidden buffer and read the pixels around the finger
  const hidden = gl.createFramebuffer(), texture = gl.createTexture(), depth = gl.createRenderbuffer();
  function pick(x, y, reach) {
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, canvas.width, canvas.height, 0, gl.RGBA, gl.UNSIGNED_BYTE, null);
    gl.bindRenderbuffer(gl.RENDERBUFFER, depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT16, canvas.width, canvas.height);
    gl.bindFramebuffer(gl.FRAMEBUFFER, hidden);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, texture, 0);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depth);
    render(true);
    const size = 2 * reach + 1, pixels = new Uint8Array(4 * size * size);
    gl.readPixels(x - reach, canvas.height - 1 - y - reach, size, size, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    let best = null, least = Infinity;
    for (let k = 0; k < size * size; k++) {
      const id = pixels[4 * k] + 256 * pixels[4 * k + 1], far = Math.hypot((k % size) - reach, Math.floor(k / size) - reach);
      if (id && far < least) { least = far; best = { version: Math.floor((id - 1) / 1024), piece: (id - 1) % 1024 }; }
    }
    return best;
  }

  // ---- what is chosen, in words and in the table
  function choose(which) {
    chosen = which;
    document.querySelectorAll("tr.chosen").forEach((row) => row.classList.remove("chosen"));
    told.textContent = "";
    if (!which) { told.textContent = INVITE; swatch(); refresh(); return; }
    const version = versions[which.version], piece = version.pieces[which.piece];
    const name = document.createElement("strong"), rest = document.createElement("span");
    name.dir = "auto"; name.textContent = piece.name;
    rest.textContent = `: ${piece.details}${versions.length > 1 ? ` (${version.name})` : ""}`;
    told.append(name, rest);
    const button = document.querySelector(`button[data-version="${which.version}"][data-piece="${which.piece}"]`);
    if (button) button.closest("tr").classList.add("chosen");
    $("painted").value = [...$("painted").options].some((o) => o.value === piece.name) ? piece.name : "";
    swatch(); refresh();
  }

  // ---- dimension lines and titles over the canvas
  const SVG = "http://www.w3.org/2000/svg";
  function mark(kind, attributes, text) {
    const node = document.createElementNS(SVG, kind);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    if (text !== undefined) node.textContent = text;
    marks.append(node);
  }
  const pen = document.createElement("canvas").getContext("2d"), LINE = 19; // px that a line of the browser's own letters takes at most
  const SHORT = 24; // px; a tube's length along a shorter line only crowds the others
  const tries = [[0, 0]];
  for (let ring = 1; ring <= 60; ring++) for (let k = 0; k < 16; k++) {
    const turn = Math.PI / 2 + (k * Math.PI) / 8;
    tries.push([0.8 * ring * LINE * Math.cos(turn), -0.5 * ring * LINE * Math.sin(turn)]);
  }
  tries.sort((p, q) => Math.hypot(...p) - Math.hypot(...q));
  function fitted(title, room) { // with letters left out at its end where the room is too narrow
    pen.font = `600 14px ${getComputedStyle(document.body).fontFamily}`;
    const letters = [...title];
    let kept = letters.length;
    const text = () => (kept < letters.length ? `${letters.slice(0, kept).join("").trimEnd()}…` : title);
    while (kept > 1 && pen.measureText(text()).width > room) kept--;
    return text();
  }
  // Each text as near to its place as it can stand without covering another; null without room.
  function layOut(labels, box) {
    const taken = [];
    return labels.map((label) => {
      const w = label.width / 2 + 3, h = LINE / 2;
      for (const [dx, dy] of tries) {
        const x = label.x + dx, y = label.y + dy;
        if (x - w < box[0] || x + w > box[2] || y - h < box[1] || y + h > box[3]) continue;
        if (taken.some((t) => Math.abs(t.x - x) < t.w + w && Math.abs(t.y - y) < t.h + h)) continue;
        taken.push({ x, y, w, h });
        return taken[taken.length - 1];
      }
      return null;
    });
  }
  function overlay() {
    marks.textContent = "";
    const ratio = canvas.width / canvas.clientWidth;
    for (const pane of panes()) {
      const eye = look(pane.version, pane);
      const place = (p) => [0, 1].map((k) => eye.seen[k] * p[0] + eye.seen[4 + k] * p[1] + eye.seen[8 + k] * p[2] + eye.seen[12 + k]);
      const spot = (p) => { const q = place(p); return [(pane.x + (q[0] + 1) * pane.w / 2) / ratio, (canvas.height - pane.y - (q[1] + 1) * pane.h / 2) / ratio]; };
      const box = [pane.x, canvas.height - pane.y - pane.h, pane.x + pane.w, canvas.height - pane.y].map((v) => v / ratio);
      if (versions.length > 1) { mark("text", { class: "title", x: (box[0] + box[2]) / 2, y: box[1] + 20 }, fitted(pane.version.name, box[2] - box[0] - 16)); box[1] += 28; }
      if (!on.dimensions || on.apart) continue;
      pen.font = `12px ${getComputedStyle(document.body).fontFamily}`;
      const labels = [];
      for (const d of pane.version.dimensions) {
        const size = Math.hypot(...sub(d.b, d.a)), seen = Math.hypot(dot(sub(d.b, d.a), eye.right), dot(sub(d.b, d.a), eye.up));
        if (seen < size / 20) continue; // runs towards the eye
        if (/^[\d.]+$/.test(d.text) && (seen * Math.hypot(eye.seen[0], eye.seen[4], eye.seen[8]) * pane.w) / 2 / ratio < SHORT) continue; // until zoomed in
        const a = d.a.map((x, k) => x + d.aside[k]), b = d.b.map((x, k) => x + d.aside[k]);
        for (const [p, q] of [[d.a, a], [a, b], [d.b, b]]) {
          const [x1, y1] = spot(p), [x2, y2] = spot(q);
          mark("line", { x1, y1, x2, y2 });
        }
        const [x, y] = spot(a.map((v, k) => (v + b[k]) / 2));
        // Left and right seen as one are told once.
        if (labels.some((l) => l.text === d.text && Math.hypot(l.x - x, l.y - y) < 4)) continue;
        if (x >= box[0] && x <= box[2] && y >= box[1] && y <= box[3]) labels.push({ text: d.text, x, y, width: pen.measureText(d.text).width });
      }
      layOut(labels, box).forEach((stand, k) => {
        if (!stand) return;
        const x2 = Math.max(stand.x - stand.w, Math.min(stand.x + stand.w, labels[k].x)), y2 = Math.max(stand.y - stand.h, Math.min(stand.y + stand.h, labels[k].y));
        if (Math.hypot(x2 - labels[k].x, y2 - labels[k].y) > 1) mark("line", { class: "leader", x1: labels[k].x, y1: labels[k].y, x2, y2 });
        mark("text", { x: stand.x, y: stand.y + 4 }, labels[k].text);
      });
    }
  }

  let asked = false;
  function refresh() {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      const ratio = Math.min(window.devicePixelRatio || 1, 2);
      const w = Math.max(1, Math.round(canvas.clientWidth * ratio)), h = Math.max(1, Math.round(canvas.clientHeight * ratio));
      if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
      render(false); overlay();
      document.body.dataset.drawn = "yes";
      document.body.dataset.turn = `${camera.turn.toFixed(4)},${camera.tip.toFixed(4)}`;
    });
  }

  // ---- hands: one pointer turns, two zoom and move
  const down = new Map();
  let travelled = 0;
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId); down.set(e.pointerId, [e.clientX, e.clientY]);
    if (down.size === 1) travelled = 0;
  });
  canvas.addEventListener("pointermove", (e) => {
    const before = down.get(e.pointerId);
    if (!before) return;
    const step = [e.clientX - before[0], e.clientY - before[1]];
    travelled += Math.hypot(...step);
    if (down.size === 1 && !e.shiftKey) { camera.turn -= step[0] * 0.008; camera.tip = Math.min(1.5708, Math.max(-1.5708, camera.tip + step[1] * 0.008)); }
    else {
      const share = 1 / down.size, h = canvas.clientHeight;
      camera.move = [camera.move[0] + (2 * step[0] * share) / h, camera.move[1] - (2 * step[1] * share) / h];
      if (down.size === 2) {
        const other = [...down.entries()].find(([id]) => id !== e.pointerId)[1];
        const was = Math.hypot(before[0] - other[0], before[1] - other[1]), is = Math.hypot(e.clientX - other[0], e.clientY - other[1]);
        if (was > 5) zoom(is / was);
      }
    }
    down.set(e.pointerId, [e.clientX, e.clientY]);
    refresh();
  });
  const up = (e) => {
    if (down.size === 1 && travelled < 6 && e.type === "pointerup") {
      const box = canvas.getBoundingClientRect(), ratio = canvas.width / canvas.clientWidth;
      choose(pick(Math.round((e.clientX - box.left) * ratio), Math.round((e.clientY - box.top) * ratio), Math.round((e.pointerType === "touch" ? 12 : 4) * ratio)));
    }
    down.delete(e.pointerId);
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  function zoom(by) { camera.zoom = Math.min(40, Math.max(0.3, camera.zoom * by)); refresh(); }
  canvas.addEventListener("wheel", (e) => { e.preventDefault(); zoom(Math.exp(-e.deltaY * 0.0012)); }, { passive: false });
  canvas.addEventListener("dblclick", () => reset());
  function reset() { camera = { ...START, move: [0, 0] }; refresh(); }
  canvas.addEventListener("keydown", (e) => {
    const step = 0.1, keys = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (keys[e.key]) { camera.turn -= keys[e.key][0]; camera.tip = Math.min(1.5708, Math.max(-1.5708, camera.tip + keys[e.key][1])); refresh(); }
    else if (e.key === "+" || e.key === "=") zoom(1.15);
    else if (e.key === "-") zoom(1 / 1.15);
    else if (e.key === "Home") reset();
    else if (e.key === "Escape") choose(null);
    else return;
    e.preventDefault();
  });

  // ---- buttons
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  function glide(target) {
    const round = 2 * Math.PI, from = { turn: camera.turn - round * Math.round((camera.turn - target[0]) / round), tip: camera.tip }, began = performance.now();
    camera.zoom = 1; camera.move = [0, 0];
    const step = (now) => {
      const t = still.matches ? 1 : Math.min(1, (now - began) / 250), s = t * t * (3 - 2 * t);
      camera.turn = from.turn + s * (target[0] - from.turn); camera.tip = from.tip + s * (target[1] - from.tip);
      refresh();
      if (t < 1) requestAnimationFrame(step);
    };
    step(performance.now());
  }
  document.querySelectorAll("[data-view]").forEach((b) => b.addEventListener("click", () => glide(b.dataset.view.split(",").map(Number))));
  const toggle = (id, set) => $(id).addEventListener("click", (e) => {
    const now = e.currentTarget.getAttribute("aria-pressed") !== "true";
    e.currentTarget.setAttribute("aria-pressed", String(now)); set(now); refresh();
  });
  toggle("dimensions", (now) => { on.dimensions = now; });
  toggle("ghosts", (now) => { on.ghosts = now; });
  toggle("explode", (now) => { on.apart = now ? 1 : 0; });
  toggle("gaps", (now) => { on.gaps = now; });
  toggle("beside", (now) => { on.beside = now; });
  $("paint").addEventListener("input", (e) => {
    const only = $("painted").value;
    for (const version of versions) for (const piece of version.pieces) if (!only || piece.name === only) piece.paint = e.target.value;
    refresh();
  });
  $("unpaint").addEventListener("click", () => { for (const v of versions) for (const p of v.pieces) p.paint = null; swatch(); refresh(); });
  $("painted").addEventListener("change", swatch);
  function swatch() { // shows the colour that is to be changed
    const pieces = versions.flatMap((v) => v.pieces), piece = pieces.find((p) => p.name === $("painted").value) || pieces[0];
    $("paint").value = piece.paint || piece.colour;
  }

  // ---- set up, and again when the live page has news
  function furnish() {
    const names = [...new Set(versions.flatMap((v) => v.pieces.map((p) => p.name)))];
    const painted = $("painted");
    while (painted.options.length > 1) painted.remove(1);
    for (const name of names) painted.add(new Option(name, name));
    swatch();
    $("ghosts").hidden = !versions.some((v) => v.ghosts.length);
    $("gaps").hidden = !versions.some((v) => v.collars.length);
    $("dimensions").hidden = !versions.some((v) => v.dimensions.length);
    $("beside").hidden = versions.length < 2;
    $("stage").classList.toggle("two", versions.length > 1);
    legend(scale);
    document.querySelectorAll("button[data-piece]").forEach((b) => b.addEventListener("click", () => {
      choose({ version: Number(b.dataset.version), piece: Number(b.dataset.piece) });
      $("stage").scrollIntoView({ block: "nearest", behavior: still.matches ? "auto" : "smooth" });
    }));
  }
  function legend(scale) {
    const place = $("legend");
    place.textContent = ""; place.hidden = !scale;
    if (!scale) return;
    const bar = document.createElement("canvas"); bar.width = 160; bar.height = 14;
    bar.setAttribute("role", "img"); bar.setAttribute("aria-label", `gap from 0 to ${scale.top.toFixed(2)} mm, limit ${scale.limits.map((x) => x.toFixed(2)).join(", ")} mm`);
    const pen = bar.getContext("2d");
    for (let x = 0; x < 160; x++) { pen.fillStyle = scale.colours[Math.round((x / 159) * (scale.colours.length - 1))]; pen.fillRect(x, 0, 1, 14); }
    pen.fillStyle = "#fff";
    for (const limit of scale.limits) { pen.fillRect((limit / scale.top) * 160 - 1.5, 0, 3, 14); }
    const words = (text) => Object.assign(document.createElement("span"), { textContent: text });
    place.append(words("gap 0"), bar, words(`${scale.top.toFixed(2)} mm,`), words(`limit ${scale.limits.map((x) => x.toFixed(2)).join(", ")} (white line)`));
  }
  function begin() { take(JSON.parse($("data").textContent)); furnish(); refresh(); }

  canvas.addEventListener("webglcontextlost", (e) => { e.preventDefault(); $("viewer").hidden = true; $("drawing").hidden = false; });
  canvas.addEventListener("webglcontextrestored", () => location.reload());
  new ResizeObserver(refresh).observe(canvas);
  $("viewer").hidden = false; $("drawing").hidden = true; $("flat").hidden = true;
  begin();

  follow(async () => {
    const page = new DOMParser().parseFromString(await (await fetch("./", { cache: "no-store" })).text(), "text/html");
    const name = chosen && versions[0].pieces[chosen.piece].name; // what is chosen stays so
    for (const id of ["data", "summary"]) $(id).textContent = page.getElementById(id).textContent;
    for (const id of ["spec", "drawing"]) $(id).replaceChildren(...page.getElementById(id).childNodes);
    $("flat").hidden = true; chosen = null; begin();
    const piece = versions[0].pieces.findIndex((one) => one.name === name);
    choose(piece < 0 ? null : { version: 0, piece });
  });

  // ---- the live page: show what its server has news of
  function follow(show) {
    if (!document.body.dataset.live) return;
    const fault = $("fault"), news = new EventSource(`news?after=${document.body.dataset.live}`);
    const tell = (text) => { fault.textContent = text; fault.hidden = false; };
    let last = Promise.resolve(); // one after the other, so that the newest word stays
    const then = (act) => { last = last.then(act).catch(() => tell("This page could not be redrawn; load it again.")); };
    news.addEventListener("fault", (e) => then(() => tell(JSON.parse(e.data))));
    news.addEventListener("checked", (e) => then(() => { $("summary").textContent = JSON.parse(e.data); }));
    news.addEventListener("frame", () => then(async () => { await show(); fault.hidden = true; }));
    news.onerror = () => tell("The preview has stopped; this page shows what it last sent.");
  }
})();
