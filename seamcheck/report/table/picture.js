// The pieces on the table: what lies where, moving and nearing, and which edge is under a finger.

const MARGIN = 5; // mm of paper round all pieces
const NEAREST = { mouse: 11, touch: 20 }; // CSS pixels from a line at which it is meant
const MOVED = 5; // CSS pixels by which a press becomes a drag
const FAR = 2.3, NEAR = 3.4; // CSS pixels for a mm of paper: below, only pieces are named; above, corners too
const SAMPLES = 24; // places on each line by which the nearest is found

let options = [], optionOf = new Map(), places = new Map();
let view = null, isWhole = true; // what of the sheet is seen, in mm of paper, and whether it is all of it
let drawnAs = null; // the drawing that is shown
let scale = 1; // CSS pixels for one mm of paper

/* Put the drawing on the table; the view stays where it is while the same pieces lie there. */
function drawTable() {
  if (drawnAs !== data.drawing) {
    const size = `${data.width} ${data.height}`, before = $("sheet").dataset.size;
    const made = new DOMParser().parseFromString(`<svg xmlns="${SVG}">${data.drawing}</svg>`, "image/svg+xml").documentElement;
    $("pieces").replaceChildren(...[...made.childNodes].map((node) => document.importNode(node, true)));
    $("sheet").dataset.size = size;
    drawnAs = data.drawing;
    options = [...document.querySelectorAll("#pieces [data-edge]")];
    // Markup cannot hold every letter that a name can; the data can.
    options.forEach((option, i) => { option.dataset.edge = data.order[i]; });
    optionOf = new Map(options.map((option) => [option.dataset.edge, option]));
    places = new Map();
    if (!optionOf.has(focus)) focus = (data.order.find((key) => focus && keyParts(key)[0] === keyParts(focus)[0]) ?? data.order[0]) ?? null;
    if (size !== before) { isWhole = true; }
  }
  $("about").textContent = data.about;
  fit();
}

/* --- the view --------------------------------------------------------------------------------------------------- */

function pane() {
  const room = $("pane").getBoundingClientRect();
  return { width: Math.max(room.width, 1), height: Math.max(room.height, 1), left: room.left, top: room.top };
}

function wholeView() {
  const { width, height } = pane(), w = data.width + 2 * MARGIN, most = data.height + 2 * MARGIN;
  const px = Math.min(width / w, height / most), all = { w: width / px, h: height / px };
  return { x: data.width / 2 - all.w / 2, y: data.height / 2 - all.h / 2, ...all };
}

/* All pieces whole, or what was seen, in a pane that may be another size now. */
function fit() {
  if (isWhole || !view) return show(wholeView(), true);
  const { width, height } = pane(), middle = { x: view.x + view.w / 2, y: view.y + view.h / 2 };
  return show({ x: middle.x - width / scale / 2, y: middle.y - height / scale / 2, w: width / scale, h: height / scale }, false);
}

function show(next, whole) {
  [view, isWhole] = [next, whole];
  const before = scale;
  scale = pane().width / view.w;
  const sheet = $("sheet");
  sheet.setAttribute("viewBox", [view.x, view.y, view.w, view.h].map((value) => value.toFixed(3)).join(" "));
  sheet.style.setProperty("--px", scale.toFixed(4));
  sheet.classList.toggle("far", scale < FAR);
  sheet.classList.toggle("near", scale > NEAR);
  drawTape();
  if (tool === "true") drawOver();
  if (Math.abs(before - scale) > 1e-9) drawSeams();
}

/* A length of cloth to measure by, as long as it is on the table now. */
function drawTape() {
  const px = scale / data.scale, length = [5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].find((one) => one * px >= 70) ?? 10000;
  $("tape").style.width = `${(length * px).toFixed(1)}px`;
  $("tape").textContent = `${length} mm`;
}

/* Nearer or farther by a factor, about a place of the window that stays where it is. */
function zoomBy(factor, at = null) {
  const room = pane(), px = Math.min(60, Math.max(0.2, scale * factor));
  const spot = at ?? { x: room.left + room.width / 2, y: room.top + room.height / 2 };
  const there = placeAt(spot.x, spot.y), w = room.width / px, h = room.height / px;
  const next = { x: there.x - ((spot.x - room.left) / room.width) * w, y: there.y - ((spot.y - room.top) / room.height) * h, w, h };
  show(next, false);
}

function panBy(dx, dy) {
  show({ ...view, x: view.x - dx / scale, y: view.y - dy / scale }, false);
}

function placeAt(x, y) {
  const room = pane();
  return { x: view.x + (x - room.left) / scale, y: view.y + (y - room.top) / scale };
}

/* Go to a part of the sheet: not nearer than is good to read, and not at all where it is seen well already. */
function goTo(box, least = 2.6) {
  const { width, height } = pane(), middle = { x: (box[0] + box[2]) / 2, y: (box[1] + box[3]) / 2 };
  const seen = box[0] >= view.x && box[1] >= view.y && box[2] <= view.x + view.w && box[3] <= view.y + view.h;
  if (seen && scale >= least) return;
  const px = Math.min(Math.max(Math.min(width / (box[2] - box[0] + 24), height / (box[3] - box[1] + 24)), 0.5), 6);
  const near = seen ? Math.max(px, least) : px;
  show({ x: middle.x - width / near / 2, y: middle.y - height / near / 2, w: width / near, h: height / near }, false);
}

function boxOf(keys) {
  const all = keys.map((key) => optionOf.get(key)?.querySelector(".line")?.getBBox()).filter(Boolean);
  if (!all.length) return null;
  return [Math.min(...all.map((one) => one.x)), Math.min(...all.map((one) => one.y)), Math.max(...all.map((one) => one.x + one.width)), Math.max(...all.map((one) => one.y + one.height))];
}

/* Move the picture until these edges are seen, and nothing else of the page. */
function showEdges(keys) {
  const box = boxOf(keys);
  if (box) goTo(box, 0);
}

/* --- which edge is meant ---------------------------------------------------------------------------------------- */

function samples(key) {
  if (!places.has(key)) {
    const line = optionOf.get(key).querySelector(".line"), total = line.getTotalLength();
    places.set(key, Array.from({ length: SAMPLES + 1 }, (_, i) => { const at = line.getPointAtLength((total * i) / SAMPLES); return [at.x, at.y]; }));
  }
  return places.get(key);
}

/* The edge nearest to a place of the window, with the station there; null where none is near enough. */
function edgeAt(x, y, kind = "mouse") {
  const at = placeAt(x, y), reach = (NEAREST[kind] ?? NEAREST.mouse) / scale;
  let best = null;
  for (const key of optionOf.keys()) {
    const points = samples(key);
    for (let i = 0; i < SAMPLES; i += 1) {
      const [ax, ay] = points[i], [bx, by] = points[i + 1], dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
      const t = long ? Math.min(1, Math.max(0, ((at.x - ax) * dx + (at.y - ay) * dy) / long)) : 0;
      const off = Math.hypot(at.x - ax - t * dx, at.y - ay - t * dy);
      if (off <= reach && (!best || off < best.off - 1e-6)) best = { key, off, share: (i + t) / SAMPLES };
    }
  }
  return best && { key: best.key, station: best.share * data.edges[best.key].length };
}

const pressed = new Map(); // the fingers that are down, by their ids
let dragged = false, spread = 0;

function fingerDown(event) {
  if (event.button > 0) return;
  pressed.set(event.pointerId, { x: event.clientX, y: event.clientY });
  if (pressed.size === 1) dragged = false;
  spread = span();
}

function fingerMoved(event) {
  const last = pressed.get(event.pointerId);
  if (!last) return point(event);
  const dx = event.clientX - last.x, dy = event.clientY - last.y;
  if (!dragged && pressed.size === 1 && Math.hypot(dx, dy) < MOVED) return undefined;
  if (!dragged) $("sheet").setPointerCapture?.(event.pointerId);
  dragged = true;
  pressed.set(event.pointerId, { x: event.clientX, y: event.clientY });
  panBy(dx / pressed.size, dy / pressed.size);
  if (pressed.size === 2) {
    const now = span(), [a, b] = [...pressed.values()];
    if (spread > 0 && now > 0) zoomBy(now / spread, { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
    spread = now;
  }
  return undefined;
}

function span() {
  if (pressed.size !== 2) return 0;
  const [a, b] = [...pressed.values()];
  return Math.hypot(a.x - b.x, a.y - b.y);
}

function fingerUp(event) {
  pressed.delete(event.pointerId);
  spread = span();
}

/* The mouse is on an edge, or on none: tell of it. */
function point(event) {
  const there = event.pointerType === "touch" ? null : edgeAt(event.clientX, event.clientY);
  pointAt(there?.key ?? null);
}

function pointAt(key) {
  if (pointed === key) return;
  optionOf.get(pointed)?.classList.remove("pointed");
  pointed = key;
  optionOf.get(key)?.classList.add("pointed");
  tellReadout();
}

function clicked(event) {
  if (dragged) { dragged = false; return; }
  const mark = event.target.closest?.("[data-cause]");
  if (mark) return chooseCause(Number(mark.dataset.cause));
  // What helps people to see clicks on elements and not on places.
  const named = event.detail ? null : event.target.closest?.("[data-edge]")?.dataset.edge;
  const there = named ? { key: named, station: null } : edgeAt(event.clientX, event.clientY, event.pointerType || "mouse");
  if (there) chooseEdge(there.key, there.station);
}

/* What is said of the edge under the mouse or the keys: by itself, or beside the one that is chosen. */
function tellReadout() {
  const key = pointed ?? (document.activeElement?.closest?.("[data-edge]") ? focus : null);
  const first = tool === "sew" && !chosen?.settled ? chosen?.edge : null;
  const readout = $("readout");
  if (!key || !data.edges[key]) return readout.replaceChildren();
  const [, top, , bottom] = boxOf([key]) ?? [0, 0, 0, 0];
  readout.classList.toggle("high", (top + bottom) / 2 > view.y + view.h / 2);
  if (!first || first === key || !data.edges[first]) return readout.replaceChildren(h("p", {}, toldOfEdge(key)));
  const sides = [[{ edge: first, back: false }], [{ edge: key, back: walksBack(data, state, first, key) }]];
  const off = differenceText(...sides.map((side) => sideLength(data, side)));
  return readout.replaceChildren(h("p", {}, h("b", {}, `${first} and ${key}`), `: ${off}`), strip(...sides) ?? "",
    ...warnings(data, state, ...sides).map((one) => h("p", { class: "off" }, one)));
}

/* --- seams and edges -------------------------------------------------------------------------------------------- */

function looks(id) {
  const index = id - 1, style = data.style;
  return {
    shape: style.shapes[index % style.shapes.length], filled: index % 2 === 0,
    dash: style.dashes[index % style.dashes.length], hue: `var(--hue-${index % style.hues})`,
  };
}

function plate(seam, x = 0, y = 0, size = 1) {
  const look = looks(seam.id), text = `${seam.id}${seam.asked ? "?" : ""}`;
  const letters = { 1: 3.2, 2: 2.9 }[text.length] ?? 2.2;
  const kind = ["plate", look.filled && !seam.asked ? "filled" : "", seam.asked ? "question" : "", chosen?.seam === seam.id ? "chosen" : ""];
  return h("g", { class: kind.filter(Boolean).join(" "), hue: look.hue, transform: `translate(${x} ${y}) scale(${size})` },
    h("path", { d: look.shape }), h("text", { y: letters * 0.36, "font-size": letters }, text));
}

/* How large a plate is: as on paper, but neither too small to read nor in the way when one is near. */
function plateSize() {
  return Math.max(Math.min(1.7, 2.6 / scale), Math.min(1, 5.5 / scale));
}

function placesOf(edge, count) {
  let times = 1 + data.style.repeated.filter((least) => edge.drawn >= least).length;
  while (times > 1 && count * times * data.style.plate > edge.drawn) times -= 1;
  const total = count * times;
  if (total * data.style.plate > edge.drawn || !edge.track.length) {
    return Array.from({ length: count }, (_, i) => edge.stack[Math.min(i, edge.stack.length - 1)]);
  }
  return Array.from({ length: total }, (_, i) => edge.track[Math.floor(((i + 0.5) / total) * edge.track.length)]);
}

function mark(seam, use, [x, y, , , angle]) {
  const size = plateSize();
  return h("g", { hue: looks(seam.id).hue, "data-seam": seam.id, "data-on": use.edge },
    h("path", { class: "arrow", d: data.style.arrow, transform: `translate(${x} ${y}) rotate(${angle + (use.back ? 180 : 0)}) scale(${size}) translate(${data.style.arrowAt} 0)` }),
    plate(seam, x, y, size));
}

function drawSeams() {
  const uses = new Map();
  for (const seam of ["true", "alter"].includes(tool) ? [] : state.seams) {
    seam.sides.forEach((side, k) => side.forEach((use) => {
      if (!uses.has(use.edge)) uses.set(use.edge, []);
      const here = uses.get(use.edge);
      if (!here.some((one) => one.seam === seam && one.k === k)) here.push({ seam, k, use });
    }));
  }
  const bands = [], marks = [];
  for (const [key, here] of uses) {
    const edge = data.edges[key];
    if (!edge) continue;
    [...new Set(here.map((one) => one.seam))].forEach((seam, layer) => {
      const look = looks(seam.id), kind = `band${seam.asked ? " question" : ""}${chosen?.seam === seam.id ? " chosen" : ""}`;
      bands.push(h("path", { class: kind, hue: look.hue, "stroke-dasharray": look.dash, d: edge.bands[Math.min(layer, edge.bands.length - 1)] }));
    });
    placesOf(edge, here.length).forEach((place, i) => {
      const { seam, use } = here[i % here.length], [x, y, fx, fy] = place;
      if (Math.hypot(x - fx, y - fy) > 0.1) bands.push(h("path", { class: "leader", hue: looks(seam.id).hue, d: `M${fx} ${fy}L${x} ${y}` }));
      marks.push(mark(seam, use, place));
    });
  }
  const seam = chosen?.seam && seamOfId(chosen.seam);
  if (seam) marks.push(...endMarks(seam));
  $("bands").replaceChildren(...bands);
  $("marks").replaceChildren(...marks);
  drawFound();
}

/* A and B at the ends of both sides of the chosen seam: A comes to lie on A. */
function endMarks(seam) {
  const size = plateSize();
  return seam.sides.flatMap((side) => [["A", side[0], 0], ["B", side[side.length - 1], 1]].map(([letter, use, which]) => {
    const edge = data.edges[use.edge];
    if (!edge) return null;
    const [x, y] = edge.ends[use.back ? 1 - which : which];
    return h("g", { transform: `translate(${x} ${y}) scale(${size})` }, h("circle", { class: "end", r: 2 }), h("text", { class: "end-name", y: 1, "font-size": 2.8 }, letter));
  })).filter(Boolean);
}

function drawEdges() {
  const seam = chosen?.seam && seamOfId(chosen.seam), partners = new Set(seam ? seam.sides.flat().map((use) => use.edge) : []);
  const likely = new Set(mates.flatMap((one) => one.sides[1].map((use) => use.edge))), changed = new Set(tool === "look" ? data.changed ?? [] : []);
  const lighted = new Set(lit ?? []);
  for (const option of options) {
    const key = option.dataset.edge, role = roleOf(state, key), edge = data.edges[key];
    const kinds = { partner: partners.has(key), likely: likely.has(key), changed: changed.has(key), lit: lighted.has(key), pointed: pointed === key };
    option.setAttribute("class", ["edge", role, ...Object.keys(kinds).filter((kind) => kinds[kind])].join(" "));
    option.setAttribute("aria-selected", String(chosen?.edge === key));
    const perhaps = likely.has(key) ? ", a likely mate" : "";
    option.setAttribute("aria-label", `${key}, ${mm(edge.length)}, from ${edge.start} to ${edge.end}, ${told(key)}${perhaps}`);
    option.setAttribute("tabindex", key === focus ? "0" : "-1");
    const name = option.querySelector(".name"), text = edge.name + (["unsewn", "fold", "open"].includes(role) ? ` (${role})` : "");
    if (name && name.textContent !== text) name.textContent = text;
  }
}

/* --- the keys --------------------------------------------------------------------------------------------------- */

function moveFocus(key) {
  focus = key;
  options.forEach((option) => option.setAttribute("tabindex", option.dataset.edge === key ? "0" : "-1"));
  optionOf.get(key)?.focus({ preventScroll: true });
  showEdges([key]);
}

function keysInPicture(event) {
  const option = event.target.closest("[data-edge]");
  const near = { "+": 1.25, "=": 1.25, "-": 0.8 }[event.key], moves = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] };
  if (near) { zoomBy(near); event.preventDefault(); return; }
  if (event.key === "0") { show(wholeView(), true); event.preventDefault(); return; }
  if (event.shiftKey && moves[event.key]) { panBy(...moves[event.key]); event.preventDefault(); return; }
  if (!option || event.ctrlKey || event.metaKey) return;
  const at = options.indexOf(option), group = option.parentNode;
  const mine = options.filter((one) => one.parentNode === group), groups = [...new Set(options.map((one) => one.parentNode))];
  const round = (list, i) => list[(i + list.length) % list.length], firstOf = (piece) => options.find((one) => one.parentNode === piece);
  const mate = mates[0]?.sides[1][0]?.edge;
  const goal = {
    ArrowRight: () => round(mine, mine.indexOf(option) + 1),
    ArrowLeft: () => round(mine, mine.indexOf(option) - 1),
    ArrowDown: () => firstOf(round(groups, groups.indexOf(group) + 1)),
    ArrowUp: () => firstOf(round(groups, groups.indexOf(group) - 1)),
    Home: () => options[0],
    End: () => options[options.length - 1],
    m: () => optionOf.get(mate) ?? option,
  }[event.key];
  if (goal) moveFocus(goal().dataset.edge);
  else if (event.key === "Enter" || event.key === " ") chooseEdge(options[at].dataset.edge);
  else return;
  event.preventDefault();
}
