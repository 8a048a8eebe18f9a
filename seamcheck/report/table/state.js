// What a person has decided so far, and the ways to change it. Nothing here touches the page.

/* `data` is what the page was made from; `state` is {base, doc, seams, pieces, refused, unknown}: a text, its parts, what is sewn or asked,
   what the pieces say of their edges; and beyond the plan the sides that are no seam, and the edges that nobody knows anything of.
   Every change gives a new state and a sentence that says what was done, or a `Refusal` that says why not. */

class Refusal extends Error {}

function stateOf(base, numbers, refused = [], unknown = []) {
  const doc = planDocument(base);
  let next = 1 + Math.max(0, ...Object.values(numbers));
  const numbered = (seam, asked) => ({ ...seam, asked, id: numbers[seam.origin] ?? next++ });
  const seams = [...doc.seams.map((seam) => numbered(seam, false)), ...doc.questions.map((seam) => numbered(seam, true))];
  seams.sort((a, b) => a.id - b.id);
  return { base, doc, seams, pieces: structuredClone(doc.pieces), refused, unknown };
}

/* The numbers of all seams that the plan has, by name, so that they keep them when its text is read again. */
function numbersOf(state) {
  return Object.fromEntries(state.seams.map((seam) => [seam.name, seam.id]));
}

function sidesKey(sides) {
  return sides.map((side) => side.map((use) => use.edge).sort().join(" + ")).sort().join(" to ");
}

/* The state with other proposals in the stead of those that the plan does not have itself. */
function withProposals(state, proposals) {
  const kept = state.seams.filter((seam) => !seam.asked || seam.origin !== null);
  const before = new Map(state.seams.map((seam) => [sidesKey(seam.sides), seam]));
  const there = new Set(kept.map((seam) => sidesKey(seam.sides))), names = new Set(kept.map((seam) => seam.name));
  let next = 1 + Math.max(0, ...state.seams.map((seam) => seam.id));
  const fresh = [];
  for (const one of proposals) {
    const key = sidesKey(one.sides);
    if (there.has(key)) continue;
    let name = one.name;
    for (let number = 2; names.has(name); number += 1) name = `${one.name} ${number}`;
    names.add(name);
    fresh.push({
      origin: null, name, sides: one.sides, ease: one.ease, ratio: one.ratio, tolerance: null, rest: [], asked: true,
      id: before.get(key)?.id ?? next++, likely: one.confidence, reasons: one.reasons, runnerUp: one.runnerUp,
    });
  }
  return { ...state, seams: [...kept, ...fresh] };
}

/* Seams without the proposals that an edge of `taken` would be in: it is sewn now, or stays free. */
function withoutProposals(seams, taken) {
  return seams.filter((seam) => !seam.asked || seam.origin !== null || !seam.sides.flat().some((use) => taken.has(use.edge)));
}

function textOf(state) {
  return planText(state.doc, state.seams, state.pieces);
}

/* A state as it is kept from one visit to the next, and back. */
function stored(state) {
  return JSON.stringify({ base: state.base, seams: state.seams, pieces: state.pieces, refused: state.refused, unknown: state.unknown });
}

function restored(text) {
  const { base, seams, pieces, refused, unknown } = JSON.parse(text);
  return { base, doc: planDocument(base), seams, pieces, refused, unknown };
}

function keyParts(key) {
  const dot = key.indexOf(".");
  return [key.slice(0, dot), key.slice(dot + 1)];
}

function seamsWith(state, key) {
  return state.seams.filter((seam) => seam.sides.some((side) => side.some((use) => use.edge === key)));
}

/* What becomes of an edge: "sewn", "asked", "unsewn", "fold" or "open". */
function roleOf(state, key) {
  const [piece, edge] = keyParts(key);
  const seams = seamsWith(state, key);
  if (seams.some((seam) => !seam.asked)) return "sewn";
  if (state.pieces[piece]?.fold === edge) return "fold";
  if (state.pieces[piece]?.unsewn.includes(edge)) return "unsewn";
  return seams.length ? "asked" : "open";
}

function isTwin(seam) {
  return seam.sides.every((side) => side.length === 1) && seam.sides[0][0].edge === seam.sides[1][0].edge;
}

function freeName(state, wanted) {
  const taken = new Set(state.seams.map((seam) => seam.name));
  let name = wanted;
  for (let number = 2; taken.has(name); number += 1) name = `${wanted} ${number}`;
  return name;
}

function changed(state, id, change) {
  return { ...state, seams: state.seams.map((seam) => (seam.id === id ? { ...seam, ...change } : seam)) };
}

/* The corners where a use begins and ends, as it is walked. */
function useEnds(data, use) {
  const [piece] = keyParts(use.edge), edge = data.edges[use.edge];
  if (!edge) return ["?", "?"];
  const ends = [`${piece}.${edge.start}`, `${piece}.${edge.end}`];
  return use.back ? ends.reverse() : ends;
}

function sideEnds(data, side) {
  return [useEnds(data, side[0])[0], useEnds(data, side[side.length - 1])[1]];
}

function sideLength(data, side) {
  return side.reduce((sum, use) => sum + (data.edges[use.edge]?.length ?? NaN), 0);
}

/* The pairs of corners that seams bring together at their ends, as "one other". */
function metCorners(data, state) {
  const met = new Set();
  for (const seam of state.seams) {
    const [one, two] = seam.sides.map((side) => sideEnds(data, side));
    for (const k of [0, 1]) { met.add(`${one[k]} ${two[k]}`); met.add(`${two[k]} ${one[k]}`); }
  }
  return met;
}

/* Whether a second edge is walked backwards against a first: by corners that other seams bring together, then by equal
   names of corners, then as two pieces that lie face up beside each other are sewn. */
function walksBack(data, state, first, second) {
  const a = data.edges[first], b = data.edges[second];
  if (!a || !b || first === second) return false;
  const ends = useEnds(data, { edge: first, back: false }), others = useEnds(data, { edge: second, back: false });
  const met = metCorners(data, state);
  const votes = (i, j) => (met.has(`${ends[i]} ${others[j]}`) ? 1 : 0);
  const glued = votes(0, 0) + votes(1, 1) - votes(0, 1) - votes(1, 0);
  if (glued) return glued < 0;
  const alike = (a.start === b.start) + (a.end === b.end) - (a.start === b.end) - (a.end === b.start);
  if (alike) return alike < 0;
  return a.forward === b.forward;
}

/* The seams in which two edges lie across from each other. */
function seamsBetween(state, first, second) {
  return seamsWith(state, first).filter((seam) =>
    [0, 1].some((k) => seam.sides[k].some((use) => use.edge === first) && seam.sides[1 - k].some((use) => use.edge === second)));
}

/* Two edges were chosen one after the other: sew them, or say yes to the question that joins them. It never parts anything. */
function joined(data, state, first, second) {
  const both = seamsBetween(state, first, second), plain = both.find((seam) => seam.sides.every((side) => side.length === 1));
  if (plain && plain.asked) return confirmed(state, plain.id);
  if (plain) return { state, chosen: plain.id, said: `${first} and ${second} are sewn already: seam ${plain.id}, ${plain.name}. Part it below if it is none.` };
  if (both.length) {
    return {
      state, chosen: both[0].id,
      said: `${first} and ${second} meet in ${both[0].asked ? "question" : "seam"} ${both[0].id}, ${both[0].name}, together with other edges. Change that seam below.`,
    };
  }
  const row = rowFor(data, state, first, second), other = row ? null : rowFor(data, state, second, first);
  if (row) return added(data, state, row.id, row.side, first);
  if (other) return added(data, state, other.id, other.side, second);
  return sewn(data, state, [[{ edge: first, back: false }], [{ edge: second, back: walksBack(data, state, first, second) }]]);
}

/* What was refused, but for these sides: now they are a seam. */
function refusedBut(state, sides) {
  return state.refused.filter((one) => sidesKey(one) !== sidesKey(sides));
}

/* Two sides sewn together: a new seam. */
function sewn(data, state, sides, more = {}) {
  const there = state.seams.find((seam) => sidesKey(seam.sides) === sidesKey(sides));
  if (there?.asked) return confirmed(state, there.id);
  if (there) return { state, chosen: there.id, said: `That is seam ${there.id}, ${there.name}, already.` };
  const id = 1 + Math.max(0, data.highest, ...state.seams.map((seam) => seam.id)), edges = [...new Set(sides.flat().map((use) => use.edge))];
  const [first, second] = sides.map((side) => side.map((use) => use.edge).join(" + ")), [a, b] = sides.map((side) => keyParts(side[0].edge)[1]);
  const seam = {
    id, origin: null, name: freeName(state, more.name ?? (a === b || first === second ? a : `${a} to ${b}`)), sides,
    ease: more.ease ?? null, ratio: more.ratio ?? null, tolerance: null, rest: [], asked: false,
  };
  const pieces = structuredClone(state.pieces), freed = edges.filter((key) => freeEdge(pieces, key));
  return {
    state: { ...state, pieces, seams: [...withoutProposals(state.seams, new Set(edges)), seam], refused: refusedBut(state, sides) }, chosen: null, did: id,
    said: (first === second ? `${first} is sewn to itself: ` : `${first} and ${second} are sewn together: `)
      + `seam ${id}, ${seam.name}.` + (freed.length ? ` ${freed.join(" and ")} no longer stays free.` : ""),
  };
}

/* The other seams that a new one shares an edge with, and could be one row with: {id, key, side} each. */
function rowsWith(state, id) {
  const seam = state.seams.find((one) => one.id === id);
  if (!seam || seam.sides.some((side) => side.length !== 1) || isTwin(seam)) return [];
  return [0, 1].flatMap((k) => {
    const [own, mate] = [seam.sides[k][0].edge, seam.sides[1 - k][0].edge];
    return seamsWith(state, mate).filter((one) => one.id !== id && !one.asked && !isTwin(one) && !one.sides.flat().some((use) => use.edge === own))
      .map((other) => ({ id: other.id, key: own, side: other.sides[0].some((use) => use.edge === mate) ? 1 : 0 }));
  });
}

/* A new seam made one row with another, one of `rowsWith`: it was no further layer, but the next edge along. */
function madeRow(data, state, id, other) {
  return added(data, { ...state, seams: state.seams.filter((one) => one.id !== id) }, other.id, other.side, other.key);
}

/* Take an edge off the lists of what is unsewn or a fold; whether it was on one. */
function freeEdge(pieces, key) {
  const [name, edge] = keyParts(key), piece = pieces[name];
  if (!piece) return false;
  const was = piece.unsewn.includes(edge) || piece.fold === edge;
  piece.unsewn = piece.unsewn.filter((one) => one !== edge);
  if (piece.fold === edge) unfold(piece);
  return was;
}

function unfold(piece) {
  piece.fold = null;
  if (piece.cut === "fold") piece.cut = "one";
}

function parted(state, id) {
  const seam = state.seams.find((one) => one.id === id);
  return {
    state: { ...state, seams: state.seams.filter((one) => one.id !== id), refused: [...state.refused, seam.sides] }, chosen: null,
    said: seam.asked ? `Question ${id}, ${seam.name}, is dropped.` : `Seam ${id}, ${seam.name}, is parted.`,
  };
}

function confirmed(state, id) {
  const seam = state.seams.find((one) => one.id === id), pieces = structuredClone(state.pieces);
  const taken = new Set(seam.sides.flat().map((use) => use.edge));
  taken.forEach((key) => freeEdge(pieces, key));
  const seams = withoutProposals(changed(state, id, { asked: false }).seams, taken);
  return { state: { ...state, pieces, seams, refused: refusedBut(state, seam.sides) }, chosen: null, did: id, said: `Yes: ${seam.name} is seam ${id}.` };
}

/* Yes to all proposals that are likelier than not, the likeliest first, as far as they leave each other their edges. */
function allConfirmed(state, least) {
  let now = state, count = 0;
  for (const { id } of state.seams.filter((seam) => seam.asked && (seam.likely ?? 0) >= least)) {
    if (!now.seams.some((seam) => seam.id === id)) continue;
    now = confirmed(now, id).state;
    count += 1;
  }
  return { state: now, chosen: null, said: `Yes to ${count} proposals: they are seams now.` };
}

/* All these edges stay free. */
function allFree(state, keys) {
  const pieces = structuredClone(state.pieces);
  for (const key of keys) { const [piece, edge] = keyParts(key); pieces[piece].unsewn.push(edge); }
  return { state: { ...state, pieces, seams: withoutProposals(state.seams, new Set(keys)) }, chosen: null, said: `${keys.length} edges stay unsewn.` };
}

/* Nobody knows what an edge is sewn to: it is not asked of again. */
function leftOpen(state, key) {
  return { state: { ...state, unknown: [...state.unknown, key] }, chosen: null, said: `${key} is not asked of again. It stays open.` };
}

/* An edge put into a row at the end where a corner or a seam says that it goes on; behind the last one where nothing tells. */
function inRow(data, state, uses, key) {
  const met = metCorners(data, state), meets = (one, other) => one === other || met.has(`${one} ${other}`);
  const last = uses[uses.length - 1], end = useEnds(data, last)[1], begin = useEnds(data, uses[0])[0];
  const [start, stop] = useEnds(data, { edge: key, back: false });
  if (meets(start, end) !== meets(stop, end)) return [...uses, { edge: key, back: meets(stop, end) }];
  if (meets(start, begin) !== meets(stop, begin)) return [{ edge: key, back: meets(start, begin) }, ...uses];
  const same = data.edges[last.edge]?.forward === data.edges[key]?.forward;
  return [...uses, { edge: key, back: last.back === same }];
}

function added(data, state, id, side, key) {
  const seam = state.seams.find((one) => one.id === id);
  const sides = seam.sides.map((uses, k) => (k === side ? inRow(data, state, uses, key) : uses));
  const pieces = structuredClone(state.pieces);
  freeEdge(pieces, key);
  const with_it = changed(state, id, { sides });
  return {
    state: { ...with_it, seams: withoutProposals(with_it.seams, new Set([key])), pieces }, chosen: id, did: id,
    said: `${key} is added to the ${side ? "second" : "first"} side of seam ${id}, ${seam.name}.`,
  };
}

/* The side of a seam that an edge belongs to as one more of a row: where the other edge is sewn already, and with it the lengths come
   nearer; of several layers the one that it fits best. */
function rowFor(data, state, key, other) {
  let best = null;
  for (const seam of seamsWith(state, other)) {
    if (seam.asked || isTwin(seam) || seam.ratio || seam.sides.flat().some((use) => use.edge === key)) continue;
    const side = seam.sides[0].some((use) => use.edge === other) ? 1 : 0; // across from the other edge
    const [own, mate] = [side, 1 - side].map((k) => sideLength(data, seam.sides[k])), off = Math.abs(own + (data.edges[key]?.length ?? NaN) - mate);
    if (off < Math.abs(own - mate) - 1 && !(best?.off <= off)) best = { id: seam.id, side, off };
  }
  return best;
}

/* `step` is what to do with one edge in a row: "turn", "earlier", "later" or "remove"; "turn-all" turns the whole side. */
function rearranged(state, id, side, index, step) {
  const seam = state.seams.find((one) => one.id === id);
  let uses = [...seam.sides[side]];
  const use = uses[index], which = side ? "second" : "first";
  let said = `${use.edge} is now walked the other way round.`;
  if (step === "turn") uses[index] = { ...use, back: !use.back };
  if (step === "turn-all") {
    uses = uses.reverse().map((one) => ({ ...one, back: !one.back }));
    said = `The ${which} side of seam ${id} is now walked from its other end.`;
  }
  if (step === "remove") {
    if (uses.length === 1) throw new Refusal("A side needs at least one edge. Part the seam instead.");
    uses.splice(index, 1);
    said = `${use.edge} is taken out of the ${which} side of seam ${id}.`;
  }
  if (step === "earlier" || step === "later") {
    const other = index + (step === "earlier" ? -1 : 1);
    if (other < 0 || other >= uses.length) throw new Refusal(`${use.edge} is the ${other < 0 ? "first" : "last"} of its side already.`);
    [uses[index], uses[other]] = [uses[other], uses[index]];
    said = `${use.edge} is now ${other + 1} of ${uses.length} in its side.`;
  }
  return { state: changed(state, id, { sides: seam.sides.map((one, k) => (k === side ? uses : one)) }), chosen: id, said };
}

function renamed(state, id, name) {
  const seam = state.seams.find((one) => one.id === id), wanted = name.trim();
  if (!wanted) throw new Refusal("A seam needs a name.");
  if (state.seams.some((one) => one.id !== id && one.name === wanted)) throw new Refusal(`There is a seam "${wanted}" already; give each seam a name of its own.`);
  return { state: changed(state, id, { name: wanted }), chosen: id, said: `Seam ${id} is called ${wanted}; it was ${seam.name}.` };
}

/* `kind` is "none", "ease" or "ratio"; `from` and `to` are what was typed, `to` may be empty. */
function allowed(state, id, kind, from, to, units) {
  if (kind === "none") {
    return { state: changed(state, id, { ease: null, ratio: null }), chosen: id, said: `Both sides of seam ${id} are to be of one length.` };
  }
  const least = amount(from, kind), most = to.trim() ? amount(to, kind) : least;
  if (kind === "ratio" && least <= 0) throw new Refusal("A ratio is a number above 0.");
  if (least > most) throw new Refusal(`The range runs from ${least} down to ${most}; write the smaller number first.`);
  const span = [least, most], told = least === most ? `${least}` : `${least} to ${most}`;
  return {
    state: changed(state, id, { ease: kind === "ease" ? span : null, ratio: kind === "ratio" ? span : null }), chosen: id,
    said: kind === "ease" ? `Seam ${id}: the first side is to be longer by ${told} ${units}.` : `Seam ${id}: the first side is to be ${told} times the second.`,
  };
}

function amount(typed, kind) {
  const text = typed.trim().replace(",", ".");
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(text)) throw new Refusal(`"${typed.trim()}" is no number; write one such as ${kind === "ease" ? "6" : "1.5"}.`);
  if (Math.abs(Number(text)) > 1e6) throw new Refusal("That is larger than any pattern.");
  return Number(text);
}

/* Say that an edge stays free ("unsewn") or is the fold, or take that back. */
function marked(state, key, role) {
  const [name, edge] = keyParts(key);
  const sewn = seamsWith(state, key).filter((seam) => !seam.asked);
  const pieces = structuredClone(state.pieces), piece = pieces[name];
  const had = role === "fold" ? piece.fold === edge : piece.unsewn.includes(edge);
  if (!had && sewn.length) {
    throw new Refusal(`${key} is in ${sewn.map((seam) => `seam ${seam.id}, ${seam.name}`).join(" and ")}. Part it first.`);
  }
  const before = piece.fold;
  freeEdge(pieces, key);
  if (had) return { state: { ...state, pieces }, said: role === "fold" ? `${key} is no fold any more.` : `${key} is open again.` };
  if (role === "unsewn") piece.unsewn.push(edge);
  else {
    piece.fold = edge;
    if (piece.cut === "one") piece.cut = "fold";
  }
  const instead = role === "fold" && before && before !== edge ? ` It takes the place of ${name}.${before}.` : "";
  const seams = withoutProposals(state.seams, new Set([key]));
  return { state: { ...state, pieces, seams }, said: role === "fold" ? `${key} is the fold of ${name}.${instead}` : `${key} stays unsewn.` };
}

/* How a piece is cut: "one", "pair" or a number of copies; on the fold by its fold edge alone. */
function cutAs(state, name, cut) {
  const pieces = structuredClone(state.pieces), piece = pieces[name];
  if (cut === "fold" && !piece.fold) throw new Refusal("Choose the edge that is the fold first, and press The fold there.");
  if (typeof cut === "number" && !(Number.isInteger(cut) && cut >= 1 && cut <= 1000)) throw new Refusal("Write how many copies are cut, 1 or more.");
  piece.cut = cut;
  const told = { one: "once", pair: "as a mirrored pair", fold: "on the fold" }[cut] ?? `${cut} times`;
  return { state: { ...state, pieces }, said: `${name} is cut ${told}.` };
}

/* One of the other things that a plan says of a seam: its tolerance, its master, where its ease lies. An empty text takes it out. */
function restSet(state, id, key, typed) {
  const seam = state.seams.find((one) => one.id === id);
  if (!typed.trim()) {
    return { state: changed(state, id, { ...withRest(seam, key, null), ...(key === "tolerance" ? { tolerance: null } : {}) }), chosen: id, said: `Seam ${id}: nothing is said of ${key} any more.` };
  }
  if (key === "master") return { state: changed(state, id, withRest(seam, key, quoted(typed))), chosen: id, said: `Seam ${id}: the ${typed} side is right as it is.` };
  const numbers = typed.split(/\s+to\s+/).map((part) => amount(part, "ease"));
  if (key === "tolerance") {
    if (numbers.length !== 1 || numbers[0] <= 0) throw new Refusal("A tolerance is one number above 0.");
    return { state: changed(state, id, { ...withRest(seam, key, figure(numbers[0])), tolerance: numbers[0] }), chosen: id, said: `Seam ${id} may be off by ${numbers[0]}.` };
  }
  if (!seam.ease) throw new Refusal("Say first how much ease there is; then where it lies.");
  if (numbers.length !== 2 || numbers[0] < 0 || numbers[0] >= numbers[1]) throw new Refusal('Write two distances along the second side, such as "85 to 400".');
  return { state: changed(state, id, withRest(seam, key, `[${numbers.map(figure).join(", ")}]`)), chosen: id, said: `Seam ${id}: all ease lies between ${numbers[0]} and ${numbers[1]}.` };
}

/* A saved plan opened again: its seams and questions on this drawing. */
function opened(data, text) {
  let state;
  try {
    state = stateOf(text, data.numbers);
  } catch (error) {
    if (error instanceof TomlError) throw new Refusal(`This is no seam plan that can be read: ${error.message}.`);
    throw error;
  }
  if (!state.doc.whole || !Object.keys(state.doc.pieces).length) {
    throw new Refusal("This plan is written in a way that cannot be changed here; nothing was opened.");
  }
  for (const [piece, edges] of Object.entries(data.planned)) {
    const missing = edges.find((edge) => !state.doc.edges[piece]?.includes(edge));
    if (missing) throw new Refusal(`This plan does not name the edge ${piece}.${missing} of this drawing; nothing was opened.`);
  }
  for (const use of state.seams.flatMap((seam) => seam.sides.flat())) {
    const [piece, edge] = keyParts(use.edge);
    if (!state.doc.edges[piece]?.includes(edge)) throw new Refusal(`This plan sews ${use.edge}, which it does not name; nothing was opened.`);
  }
  const names = state.seams.map((seam) => seam.name), twice = names.find((name, i) => names.indexOf(name) !== i);
  if (twice !== undefined) throw new Refusal(`Two seams of this plan are called ${twice}; nothing was opened.`);
  return { state, chosen: null, said: `The plan is opened: ${state.seams.filter((seam) => !seam.asked).length} seams.` };
}
