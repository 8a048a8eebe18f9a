// What is shown and chosen now, and the one way to change it.

let data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
const host = data.host === "server" ? serverHost(data) : fileHost(data);

let state = stateOf(data.text, data.numbers ?? {}, data.refused, data.unknown);
if (data.proposals) state = withProposals(state, data.proposals);
let past = [], future = [];
let tool = data.host === "server" && data.tool ? data.tool : "sew"; // "look", "sew", "true" or "send"
let chosen = null; // {edge}, {seam} or {piece}: what the panel speaks of; an edge that was just told to stay free or to be the fold is `settled`
let gesture = null; // {kind, ...}: what the next click on an edge means, other than to choose it
let focus = null; // the edge that the keys are on
let pointed = null; // the edge that the mouse is on
let mates = []; // what the chosen edge may be sewn to
let lit = null; // edges that a question, a cause or a search speaks of
let did = null; // the seam that was just made
const newNames = {}; // edges by the names that they had, until they are read under the new ones

/* Making elements: every text goes in as text, whatever it holds. */
function h(tag, attributes, ...children) {
  const drawn = ["svg", "g", "path", "text", "circle", "rect", "line"].includes(tag);
  const element = drawn ? document.createElementNS(SVG, tag) : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "hue") element.style.setProperty("--hue", value);
    else if (value !== null && value !== false && value !== undefined) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

function button(label, focusKey, act, more = {}) {
  return h("button", { type: "button", "data-focus": focusKey, onclick: act, ...more }, label);
}

/* Bring a list up to date and leave alone what has not changed, so that nobody loses the button under the finger; of what has, what is
   open stays open, and what was typed and not told yet stays typed. */
function reconcile(parent, items) {
  const there = new Map([...parent.children].map((child) => [child.dataset.item, child]));
  items.forEach((item, at) => {
    let element = there.get(item.key);
    there.delete(item.key);
    if (!element || element.signature !== item.signature) {
      const fresh = item.build();
      fresh.dataset.item = item.key;
      fresh.signature = item.signature;
      if (element) { carryOver(element, fresh); element.replaceWith(fresh); }
      element = fresh;
    }
    if (parent.children[at] !== element) parent.insertBefore(element, parent.children[at] ?? null);
  });
  there.forEach((element) => element.remove());
}

function carryOver(old, fresh) {
  const heads = (parent) => [...parent.querySelectorAll("details > summary")], open = heads(old).filter((one) => one.parentNode.open).map((one) => one.textContent);
  for (const head of heads(fresh)) if (open.includes(head.textContent)) head.parentNode.open = true;
  for (const typed of old.querySelectorAll("input[type=text][data-focus]")) {
    if (typed.value !== typed.defaultValue) for (const same of fresh.querySelectorAll(withFocusKey(typed.dataset.focus))) same.value = typed.value;
  }
}

function withFocusKey(key) {
  return `[data-focus="${CSS.escape(key)}"]`;
}

/* What the keys are on, held while all is drawn anew: what this gives puts them back on it, by its key, or else where it was. */
function heldFocus() {
  const active = document.activeElement, { edge, focus: key } = active?.dataset ?? {}, section = active?.closest("section")?.querySelector("h2");
  if (!active || active === document.body) return () => {};
  const seen = (element) => element?.isConnected && element.getClientRects().length > 0;
  return () => {
    if (seen(active)) return;
    const same = edge !== undefined ? optionOf.get(focus) : key && document.querySelector(withFocusKey(key));
    const goal = [same, section].find(seen) ?? $("chosen-title");
    goal.focus({ preventScroll: edge !== undefined });
    if (active.type === "text" && goal.type === "text") goal.setSelectionRange(active.selectionStart, active.selectionEnd);
  };
}

function say(text, wrong = false) {
  $("said").textContent = text;
  $("said").classList.toggle("wrong", wrong);
}

function seamOfId(id) {
  return state.seams.find((seam) => seam.id === id);
}

/* --- changing --------------------------------------------------------------------------------------------------- */

function apply(change) {
  let result;
  try {
    result = change();
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    say(error.message, true);
    return false;
  }
  const isNew = result.state !== state;
  if (isNew) {
    Object.assign(newNames, result.renamed);
    past.push({ state, chosen });
    future = [];
    state = result.state;
    did = result.did ?? null;
    lit = null;
  }
  if (result.chosen !== undefined) choose(result.chosen === null ? null : { seam: result.chosen });
  const made = result.did ? seamOfId(result.did) : null, against = made ? warnings(data, state, ...made.sides) : [];
  say([result.said, ...against].join(" "), against.length > 0);
  if (isNew) host.keep(state, true);
  render();
  return true;
}

function travel(from, to, word) {
  const step = from.pop();
  if (!step) return say(`There is nothing to ${word}.`);
  to.push({ state, chosen });
  ({ state } = step);
  choose(null);
  gesture = did = null;
  say(word === "undo" ? "The last change is undone." : "The change is done again.");
  host.keep(state, true);
  return render();
}

function undo() { travel(past, future, "undo"); }
function redo() { travel(future, past, "do again"); }

/* --- choosing --------------------------------------------------------------------------------------------------- */

/* Nothing stays chosen but what is named here. */
function choose(what) {
  const edge = what?.edge;
  if (edge !== chosen?.edge) mates = [];
  chosen = what;
  if (edge && tool === "sew" && !what.settled) findMates(edge);
}

let seeking = 0; // how often mates are asked for just now

async function findMates(edge) {
  seeking += 1;
  const found = (await host.mates(edge).catch(() => null)) ?? alike(edge);
  seeking -= 1;
  if (chosen?.edge !== edge) return;
  mates = found;
  render();
}

/* The open edges that are nearest in length, for where nothing more is known. */
function alike(edge) {
  const length = data.edges[edge]?.length ?? NaN;
  return data.order.filter((key) => key !== edge && ["open", "asked"].includes(roleOf(state, key)))
    .map((key) => ({ key, off: Math.abs(data.edges[key].length - length) }))
    .filter((one) => one.off < 0.1 * length).sort((a, b) => a.off - b.off).slice(0, 4)
    .map(({ key }) => ({ sides: [[{ edge, back: false }], [{ edge: key, back: walksBack(data, state, edge, key) }]], likely: null, reasons: [] }));
}

function chooseEdge(key, at = null) {
  focus = key;
  if (gesture) return gestured(key, at);
  const first = chosen?.settled || tool !== "sew" ? null : chosen?.edge; // who went round marking hems does not mean to sew them together
  if (first === key) {
    choose(null);
    say(`${key} is let go.`);
    render();
  } else if (first) {
    if (!apply(() => joined(data, state, first, key))) return;
  } else {
    choose({ edge: key });
    did = null;
    const role = roleOf(state, key);
    say(`${key} is chosen${role === "open" ? "" : `; it is ${told(key)}`}.${tool === "sew" ? " Choose the edge it is sewn to." : ""}`);
    render();
  }
}

/* A click on an edge that means what was asked for before. */
function gestured(key, at) {
  const { kind, seam, side, piece, name } = gesture;
  if (kind === "add") {
    gesture = null;
    apply(() => added(data, state, seam, side, key));
  } else if (kind === "corner") {
    if (at === null || key !== piece) return say(`Click a place on ${piece}, or press Escape.`, true);
    gesture = null;
    choose(null);
    apply(() => cornerAdded(data, state, key, at, name));
  }
}

function chooseSeam(id) {
  gesture = null;
  choose({ seam: id });
  did = null;
  const seam = seamOfId(id);
  say(`${seam.asked ? "Question" : "Seam"} ${id}, ${seam.name}, is chosen.`);
  render();
  showEdges(seam.sides.flat().map((use) => use.edge));
  $("chosen-title").scrollIntoView({ block: "nearest" });
}

function letGo() {
  if (!chosen && !gesture && !lit) return;
  say(gesture ? "Nothing is added." : "Nothing is chosen.");
  if (gesture) gesture = null;
  else { choose(null); lit = null; }
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

/* An edge in a sentence: its length, what it is sewn to, and by how much they differ. */
function toldOfEdge(key) {
  const edge = data.edges[key];
  if (!edge) return key;
  const parts = [`${key}: ${both(edge.length)}`], seams = seamsWith(state, key);
  for (const seam of seams) {
    const at = seam.sides[0].some((use) => use.edge === key) ? 0 : 1, [own, mate] = [at, 1 - at].map((k) => sideLength(data, seam.sides[k]));
    const other = isTwin(seam) ? twinOf(state, key) : sideText(seam.sides[1 - at]), off = own - mate;
    const by = isTwin(seam) ? "" : Math.abs(off) < 0.05 ? ", no difference" : `, ${both(Math.abs(off))} ${off > 0 ? "longer" : "shorter"} than it`;
    parts.push(`${seam.asked ? "perhaps sewn" : "sewn"} to ${other}${by}`);
  }
  if (!seams.length) parts.push(told(key));
  return parts.join("; ");
}

/* --- news of the server ----------------------------------------------------------------------------------------- */

let version = data.version ?? 0, drawn = version; // the newest state that is known of, and the one that is shown: a step of the plan comes back without a picture
let newest = version, fetching = null; // the newest state that there is news of, and what is asked for

async function refresh() {
  if (fetching || host.busy) return;
  const { size } = data;
  fetching = host.state(size);
  try {
    const fresh = await fetching;
    if (data.size === size) arrived(fresh);
  } catch (error) {
    host.ontrouble(error);
    return;
  } finally {
    fetching = null;
  }
  refreshIfTold();
}

/* Ask for the newest state where there is a newer one than is shown. */
function refreshIfTold() {
  if (newest > drawn) setTimeout(refresh);
}

/* A state as the server told it, shown if nothing that was done here is newer. */
function arrived(fresh) {
  if (host.busy || fresh.version < version) return false;
  version = drawn = fresh.version;
  takeOver(fresh);
  if (tool === "true") openTruing();
  if (tool === "alter") openAltering();
  return true;
}

/* Another state of the files: the picture and what was found are taken over, the plan where it is not this page's own. What is chosen, and
   what the keys are on, stays so as long as it is there. */
function takeOver(fresh) {
  const news = host.isNews(fresh), elsewhere = news && fresh.base !== data.base, giveBack = heldFocus();
  const role = chosen?.edge && roleOf(state, chosen.edge);
  data = { ...data, ...fresh };
  if (news) {
    state = stateOf(fresh.text, numbersOf(state), fresh.refused ?? [], fresh.unknown ?? []);
    past = [];
    future = [];
    gesture = did = null;
    if (elsewhere) say("The plan was changed elsewhere, and is shown as it is now.");
  }
  state = withProposals(state, fresh.proposals ?? []);
  const now = (key) => (data.edges[key] ? key : newNames[key]);
  focus = now(focus) ?? focus;
  if (chosen?.edge) {
    const edge = now(chosen.edge), other = news && edge && roleOf(state, edge) !== role; // who chose an open edge did not choose a sewn one
    choose(data.edges[edge] && !other ? { ...chosen, edge } : null);
  }
  if (chosen?.piece && !data.pieces[chosen.piece]) choose(null);
  drawTable();
  render();
  giveBack();
}
