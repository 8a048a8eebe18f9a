// What a person has decided so far, and the ways to change it. Nothing here touches the page.

/* `data` is what the page was made from; `state` is {base, doc, seams, pieces}. Every change gives a new state and a
   sentence that says what was done, or an `Refusal` that says why not. */

class Refusal extends Error {}

function stateOf(base, numbers) {
  const doc = planDocument(base);
  let next = 1 + Math.max(0, ...Object.values(numbers));
  const numbered = (seam, asked) => ({ ...seam, asked, id: numbers[seam.origin] ?? next++ });
  const seams = [...doc.seams.map((seam) => numbered(seam, false)), ...doc.questions.map((seam) => numbered(seam, true))];
  seams.sort((a, b) => a.id - b.id);
  return { base, doc, seams, pieces: structuredClone(doc.pieces) };
}

function textOf(state) {
  return planText(state.doc, state.seams, state.pieces);
}

/* A state as it is kept from one visit to the next, and back. */
function stored(state) {
  return JSON.stringify({ base: state.base, seams: state.seams, pieces: state.pieces });
}

function restored(text) {
  const { base, seams, pieces } = JSON.parse(text);
  return { base, doc: planDocument(base), seams, pieces };
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

/* Two edges were chosen one after the other: pair them, part them, or say yes to the question that joins them. */
function joined(data, state, first, second) {
  const both = seamsWith(state, first).filter((seam) =>
    [0, 1].some((k) => seam.sides[k].some((use) => use.edge === first) && seam.sides[1 - k].some((use) => use.edge === second)));
  const plain = both.find((seam) => seam.sides.every((side) => side.length === 1));
  if (plain && plain.asked) return { ...confirmed(state, plain.id), chosen: plain.id };
  if (plain) return parted(state, plain.id);
  if (both.length) {
    return {
      state, chosen: both[0].id,
      said: `${first} and ${second} meet in seam ${both[0].id}, ${both[0].name}, together with other edges. Change that seam below.`,
    };
  }
  const id = 1 + Math.max(0, data.highest, ...state.seams.map((seam) => seam.id));
  const [, a] = keyParts(first), [, b] = keyParts(second);
  const seam = {
    id, origin: null, name: freeName(state, a === b || first === second ? a : `${a} to ${b}`),
    sides: [[{ edge: first, back: false }], [{ edge: second, back: walksBack(data, state, first, second) }]],
    ease: null, ratio: null, tolerance: null, rest: [], asked: false,
  };
  const pieces = structuredClone(state.pieces);
  const freed = [...new Set([first, second])].filter((key) => freeEdge(pieces, key));
  return {
    state: { ...state, pieces, seams: [...state.seams, seam] }, chosen: id,
    said: (first === second ? `${first} is sewn to itself: ` : `${first} and ${second} are paired: `)
      + `seam ${id}, ${seam.name}.` + (freed.length ? ` ${freed.join(" and ")} no longer stays free.` : ""),
  };
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
    state: { ...state, seams: state.seams.filter((one) => one.id !== id) }, chosen: null,
    said: seam.asked ? `Question ${id}, ${seam.name}, is dropped.` : `Seam ${id}, ${seam.name}, is parted.`,
  };
}

function confirmed(state, id) {
  const seam = state.seams.find((one) => one.id === id);
  const pieces = structuredClone(state.pieces);
  seam.sides.flat().forEach((use) => freeEdge(pieces, use.edge));
  return { state: { ...changed(state, id, { asked: false }), pieces }, chosen: id, said: `Yes: ${seam.name} is seam ${id}.` };
}

function added(data, state, id, side, key) {
  const seam = state.seams.find((one) => one.id === id);
  const last = seam.sides[side][seam.sides[side].length - 1], from = useEnds(data, last)[1];
  const [start, end] = useEnds(data, { edge: key, back: false });
  // It goes on from where the row ends, if a corner or a seam says where that is; else round its piece as the last one.
  const met = metCorners(data, state), meets = (corner) => corner === from || met.has(`${from} ${corner}`);
  const same = data.edges[last.edge]?.forward === data.edges[key]?.forward;
  const back = meets(start) !== meets(end) ? meets(end) : last.back === same;
  const sides = seam.sides.map((uses, k) => (k === side ? [...uses, { edge: key, back }] : uses));
  const pieces = structuredClone(state.pieces);
  freeEdge(pieces, key);
  return {
    state: { ...changed(state, id, { sides }), pieces }, chosen: id,
    said: `${key} is added to the ${side ? "second" : "first"} side of seam ${id}, ${seam.name}.`,
  };
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
  return { state: { ...state, pieces }, said: role === "fold" ? `${key} is the fold of ${name}.${instead}` : `${key} stays unsewn.` };
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
