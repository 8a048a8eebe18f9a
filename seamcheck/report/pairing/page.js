// The page: shows a state, and turns clicks and keys into changes of it.

const data = JSON.parse(document.getElementById("data").textContent);
const store = `seamcheck pairing 1 ${data.key}`; // 1: how a state is kept
const $ = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";

let state = stateOf(data.text, data.numbers);
let past = [], future = [];
let chosen = null; // {edge} or {seam}: what the panel speaks of; an edge that was just told to stay free or to be the fold is `settled`
let adding = null; // {seam, side}: the next edge that is chosen goes there
let focus = null; // the edge that the keys are on
let zoom = null; // CSS pixels for one mm of paper; null: as the window allows

/* Making elements: every text goes in as text, whatever it holds. */
function h(tag, attributes, ...children) {
  const plain = ["svg", "g", "path", "text", "circle"].includes(tag);
  const element = plain ? document.createElementNS(SVG, tag) : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "hue") element.style.setProperty("--hue", value);
    else if (value !== null && value !== false) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null));
  return element;
}

/* Bring a list up to date and leave alone what has not changed, so that nobody loses the button under the finger. */
function reconcile(parent, items) {
  const there = new Map([...parent.children].map((child) => [child.dataset.item, child]));
  items.forEach((item, at) => {
    let element = there.get(item.key);
    there.delete(item.key);
    if (!element || element.signature !== item.signature) {
      const fresh = item.build();
      fresh.dataset.item = item.key;
      fresh.signature = item.signature;
      if (element) element.replaceWith(fresh);
      element = fresh;
    }
    if (parent.children[at] !== element) parent.insertBefore(element, parent.children[at] ?? null);
  });
  there.forEach((element) => element.remove());
}

function mm(value) {
  if (Number.isNaN(value)) return "unknown length";
  const size = Math.abs(value);
  return size >= 99.95 ? `${value.toFixed(0)} mm` : size < 0.995 ? `${value.toFixed(2)} mm` : `${value.toFixed(1)} mm`;
}

function sideText(side) {
  const told = [];
  for (const use of side) {
    const last = told[told.length - 1];
    if (last && last.edge === use.edge && last.back === use.back) last.times += 1;
    else told.push({ ...use, times: 1 });
  }
  return told.map((one) => `${one.times > 1 ? `${one.times} × ` : ""}${one.back ? "-" : ""}${one.edge}`).join(" + ");
}

function sewnText(seam) {
  return isTwin(seam) ? `${seam.sides[0][0].edge} to ${twinOf(seam.sides[0][0].edge)}` : `${sideText(seam.sides[0])} to ${sideText(seam.sides[1])}`;
}

/* What an edge meets that is sewn to itself, by how its piece is cut. */
function twinOf(key) {
  const { cut } = state.pieces[keyParts(key)[0]] ?? {};
  if (cut === "pair" || cut === "fold") return "its mirror twin";
  return cut === "one" || cut === 1 ? "itself" : "the same edge of another copy";
}

/* How the lengths of a seam stand to what is allowed. */
function lengthsOf(seam) {
  const [first, second] = seam.sides.map((side) => sideLength(data, side));
  const difference = first - second, unit = data.unit;
  let [least, most] = [0, 0];
  if (seam.ease) [least, most] = seam.ease.map((one) => one * unit);
  if (seam.ratio) [least, most] = seam.ratio.map((one) => (one - 1) * second);
  const beyond = Math.max(0, difference - most, least - difference);
  const told = isTwin(seam) ? mm(first) : `${mm(first)} and ${mm(second)}`;
  const tolerance = (seam.tolerance === null ? data.tolerance : seam.tolerance) * unit;
  return { told, first, second, difference, off: beyond > tolerance / 2, beyond };
}

/* --- changing --------------------------------------------------------------------------------------------------- */

function say(text, wrong = false) {
  $("said").textContent = text;
  $("said").classList.toggle("wrong", wrong);
}

function apply(change) {
  let result;
  try {
    result = change();
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    say(error.message, true);
    return false;
  }
  if (result.state !== state) {
    past.push({ state, chosen });
    future = [];
    state = result.state;
  }
  if (result.chosen !== undefined) chosen = result.chosen === null ? null : { seam: result.chosen };
  say(result.said);
  keep();
  render();
  return true;
}

function travel(from, to, word) {
  const step = from.pop();
  if (!step) return say(`There is nothing to ${word}.`);
  to.push({ state, chosen });
  ({ state, chosen } = step);
  adding = null;
  say(word === "undo" ? "The last change is undone." : "The change is done again.");
  keep();
  return render();
}

function keep() {
  try {
    if (past.length || future.length || localStorage.getItem(store)) localStorage.setItem(store, stored(state));
    return true;
  } catch {
    $("kept").textContent = "This browser keeps nothing for pages that are opened from a file. Save the plan; it can be opened here again.";
    return false;
  }
}

function recall() {
  let kept = null;
  try {
    kept = localStorage.getItem(store);
  } catch {
    keep();
    return;
  }
  if (kept === null) return;
  try {
    state = restored(kept);
  } catch {
    say("What was kept of the last visit cannot be read; the plan is as it was proposed.", true);
    return;
  }
  say("Your last changes are here again. Start over brings back what was proposed.");
}

/* --- choosing --------------------------------------------------------------------------------------------------- */

function chooseEdge(key) {
  focus = key;
  if (adding) {
    const { seam, side } = adding;
    adding = null;
    apply(() => added(data, state, seam, side, key));
    return;
  }
  const first = chosen?.settled ? null : chosen?.edge; // who went round marking hems does not mean to sew them together
  if (first === key) {
    chosen = null;
    say(`${key} is let go.`);
    render();
  } else if (first) {
    if (!apply(() => joined(data, state, first, key))) return;
  } else {
    chosen = { edge: key };
    const role = roleOf(state, key);
    say(`${key} is chosen${role === "open" ? "" : `; it is ${told(key)}`}. Choose the edge it is sewn to.`);
    render();
  }
}

function chooseSeam(id) {
  adding = null;
  chosen = { seam: id };
  const seam = state.seams.find((one) => one.id === id);
  say(`${seam.asked ? "Question" : "Seam"} ${id}, ${seam.name}, is chosen.`);
  render();
  showEdge(seam.sides[1][0].edge);
  showEdge(seam.sides[0][0].edge);
  $("chosen-title").scrollIntoView({ block: "nearest" });
}

function letGo() {
  if (!chosen && !adding) return;
  say(adding ? "No edge is added." : "Nothing is chosen.");
  if (adding) adding = null;
  else chosen = null;
  render();
}

/* An edge's role in words. */
function told(key) {
  const role = roleOf(state, key);
  if (role === "unsewn") return "unsewn";
  if (role === "fold") return "a fold";
  if (role === "open") return "open";
  return seamsWith(state, key).map((seam) => `in ${seam.asked ? "question" : "seam"} ${seam.id}, ${seam.name}`).join("; ");
}

/* --- the picture ------------------------------------------------------------------------------------------------ */

const options = [...document.querySelectorAll("#sheet [data-edge]")];
// Markup cannot hold every letter that a name can; the data can.
options.forEach((option, i) => { option.dataset.edge = data.order[i]; });
const optionOf = new Map(options.map((option) => [option.dataset.edge, option]));

function looks(id) {
  const index = id - 1, style = data.style;
  return {
    shape: style.shapes[index % style.shapes.length], filled: index % 2 === 0,
    dash: style.dashes[index % style.dashes.length], hue: `var(--hue-${index % style.hues.length})`,
  };
}

function plate(seam, x = 0, y = 0) {
  const look = looks(seam.id), text = `${seam.id}${seam.asked ? "?" : ""}`;
  const size = { 1: 3.2, 2: 2.9 }[text.length] ?? 2.2;
  const kind = ["plate", look.filled && !seam.asked ? "filled" : "", seam.asked ? "question" : "", chosen?.seam === seam.id ? "chosen" : ""];
  return h("g", { class: kind.filter(Boolean).join(" "), hue: look.hue, transform: `translate(${x} ${y})` },
    h("path", { d: look.shape }), h("text", { y: size * 0.36, "font-size": size }, text));
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
  return h("g", { hue: looks(seam.id).hue, "data-seam": seam.id, "data-on": use.edge },
    h("path", { class: "arrow", d: data.style.arrow, transform: `translate(${x} ${y}) rotate(${angle + (use.back ? 180 : 0)}) translate(${data.style.arrowAt} 0)` }),
    plate(seam, x, y));
}

function drawSeams() {
  const uses = new Map();
  for (const seam of state.seams) {
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
      const look = looks(seam.id);
      bands.push(h("path", { class: seam.asked ? "band question" : "band", hue: look.hue, "stroke-dasharray": look.dash, d: edge.bands[Math.min(layer, edge.bands.length - 1)] }));
    });
    placesOf(edge, here.length).forEach((place, i) => {
      const { seam, use } = here[i % here.length], [x, y, fx, fy] = place;
      if (Math.hypot(x - fx, y - fy) > 0.1) bands.push(h("path", { class: "leader", hue: looks(seam.id).hue, d: `M${fx} ${fy}L${x} ${y}` }));
      marks.push(mark(seam, use, place));
    });
  }
  const seam = chosen?.seam && state.seams.find((one) => one.id === chosen.seam);
  if (seam) marks.push(...endMarks(seam));
  $("bands").replaceChildren(...bands);
  $("marks").replaceChildren(...marks);
}

/* A and B at the ends of both sides of the chosen seam: A comes to lie on A. */
function endMarks(seam) {
  return seam.sides.flatMap((side) => [["A", side[0], 0], ["B", side[side.length - 1], 1]].map(([letter, use, which]) => {
    const edge = data.edges[use.edge];
    if (!edge) return null;
    const [x, y] = edge.ends[use.back ? 1 - which : which];
    return h("g", {}, h("circle", { class: "end", cx: x, cy: y, r: 2 }), h("text", { class: "end-name", x, y: y + 1, "font-size": 2.8 }, letter));
  })).filter(Boolean);
}

function drawEdges() {
  const seam = chosen?.seam && state.seams.find((one) => one.id === chosen.seam);
  const partners = new Set(seam ? seam.sides.flat().map((use) => use.edge) : []);
  for (const option of options) {
    const key = option.dataset.edge, role = roleOf(state, key), edge = data.edges[key];
    option.setAttribute("class", ["edge", role, partners.has(key) ? "partner" : ""].join(" ").trim());
    option.setAttribute("aria-selected", String(chosen?.edge === key));
    option.setAttribute("aria-label", `${key}, ${mm(edge.length)}, from ${edge.start} to ${edge.end}, ${told(key)}`);
    option.setAttribute("tabindex", key === focus ? "0" : "-1");
    const name = option.querySelector(".name"), text = edge.name + (["unsewn", "fold", "open"].includes(role) ? ` (${role})` : "");
    if (name.textContent !== text) name.textContent = text;
  }
}

function moveFocus(key) {
  focus = key;
  options.forEach((option) => option.setAttribute("tabindex", option.dataset.edge === key ? "0" : "-1"));
  optionOf.get(key).focus();
}

function keysInPicture(event) {
  const option = event.target.closest("[data-edge]");
  if (!option) return;
  const at = options.indexOf(option), group = option.parentNode;
  const mine = options.filter((one) => one.parentNode === group), groups = [...new Set(options.map((one) => one.parentNode))];
  const round = (list, i) => list[(i + list.length) % list.length];
  const firstOf = (piece) => options.find((one) => one.parentNode === piece);
  const goal = {
    ArrowRight: () => round(mine, mine.indexOf(option) + 1),
    ArrowLeft: () => round(mine, mine.indexOf(option) - 1),
    ArrowDown: () => firstOf(round(groups, groups.indexOf(group) + 1)),
    ArrowUp: () => firstOf(round(groups, groups.indexOf(group) - 1)),
    Home: () => options[0],
    End: () => options[options.length - 1],
  }[event.key];
  if (goal) moveFocus(goal().dataset.edge);
  else if (event.key === "Enter" || event.key === " ") chooseEdge(options[at].dataset.edge);
  else return;
  event.preventDefault();
}

function setZoom() {
  const room = $("pane").clientWidth - 22;
  const scale = zoom ?? Math.max(room / data.width, data.legible);
  const padding = 19.2;
  $("sheet").style.width = `${Math.round(data.width * scale + padding)}px`;
  $("sheet").style.height = `${Math.round(data.height * scale + padding)}px`;
}

function zoomBy(factor) {
  const now = ($("sheet").getBoundingClientRect().width - 19.2) / data.width;
  zoom = Math.min(30, Math.max(0.5, now * factor));
  setZoom();
  say(`One mm of paper is ${zoom.toFixed(1)} pixels.`);
}
