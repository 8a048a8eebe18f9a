// Corners, names, darts, pleats and what is accepted: changes of a plan's text, of nothing but the places that they are about.

function replaced(text, edits) {
  return [...edits].sort((a, b) => b.start - a.start).reduce((out, one) => out.slice(0, one.start) + one.put + out.slice(one.end), text);
}

function keyText(name) {
  return /^[A-Za-z0-9_-]+$/.test(name) ? name : quoted(name);
}

/* Where the value of a key stands in the text. */
function valueOf(text, key) {
  const name = /^(?:\s*(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*\.?)+/.exec(text.slice(key.start, key.end))[0];
  const start = text.indexOf("=", key.start + name.length) + 1;
  return { start: start + /^[ \t]*/.exec(text.slice(start))[0].length, end: key.end };
}

/* The texts in quotes within a stretch of the text that `change` turns into others, as edits. */
function retold(text, { start, end }, change) {
  const edits = [];
  for (const match of text.slice(start, end).matchAll(/#[^\n]*|"(?:[^"\\]|\\.)*"|'[^']*'/g)) {
    if (match[0].startsWith("#")) continue;
    const word = match[0].startsWith("'") ? match[0].slice(1, -1) : readToml(`a = ${match[0]}`).values.a;
    const told = change(word);
    if (told !== null && told !== word) edits.push({ start: start + match.index, end: start + match.index + match[0].length, put: Array.isArray(told) ? told.map(quoted).join(", ") : quoted(told) });
  }
  return edits;
}

/* The last name of a key, written anew. */
function keyRetold(text, key, name) {
  const head = text.slice(key.start, valueOf(text, key).start), last = /("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*=\s*$/.exec(head);
  return { start: key.start + last.index, end: key.start + last.index + last[1].length, put: keyText(name) };
}

function keysUnder(toml, ...path) {
  return toml.keys.filter((key) => key.path.length === path.length + 1 && path.every((name, i) => key.path[i] === name));
}

/* A key added to a table behind its last one; the table is begun behind the piece's own keys where there is none. */
function keyAdded(text, toml, path, told) {
  const there = keysUnder(toml, ...path), inline = toml.keys.find((key) => key.path.join("\0") === path.join("\0"));
  if (inline) return there.length ? { start: there[there.length - 1].end, end: there[there.length - 1].end, put: `, ${told}` } : { start: inline.end - 1, end: inline.end - 1, put: told };
  const last = there[there.length - 1] ?? toml.headers.find((header) => header.path.join("\0") === path.join("\0"));
  if (!last) throw new Refusal("This plan is written in a way that cannot be changed here.");
  const line = text.indexOf("\n", last.end), end = line < 0 ? text.length : line, dotted = there.length && keyPrefix(text, last);
  return { start: end, end, put: `\n${dotted || ""}${told}` };
}

/* What stands before the last name of a dotted key. */
function keyPrefix(text, key) {
  const head = text.slice(key.start, valueOf(text, key).start), last = /("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*=\s*$/.exec(head);
  return head.slice(0, last.index);
}

/* The state that another text makes; numbers and what was refused stay. */
function retoldState(state, text) {
  const next = stateOf(text, numbersOf(state), state.refused, state.unknown);
  const asked = state.seams.filter((seam) => seam.asked && seam.origin === null);
  return { ...next, seams: [...next.seams, ...asked.filter((seam) => !next.seams.some((one) => one.id === seam.id))] };
}

function usableName(name, kind, taken) {
  const wanted = name.trim();
  if (!wanted || wanted.startsWith("-") || wanted.includes(".")) throw new Refusal(`A ${kind} needs a name that does not begin with "-" and has no "." in it.`);
  if (taken.includes(wanted)) throw new Refusal(`There is a ${kind} "${wanted}" already on this piece; give each a name of its own.`);
  return wanted;
}

/* The places where a plan speaks of an edge by "piece.edge", or by its name alone within the piece. */
function edgeMentions(text, toml, piece, edge, change) {
  const whole = (word) => {
    const bare = word.replace(/^-/, "");
    return bare === `${piece}.${edge}` ? change(word.startsWith("-")).map((name) => `${word.startsWith("-") ? "-" : ""}${piece}.${name}`) : null;
  };
  const own = (word) => (word === edge ? change(false) : null), one = (told) => (told && told.length === 1 ? told[0] : told);
  const edits = [];
  for (const key of toml.keys) {
    const [top, name, third] = key.path, depth = key.path.length;
    if (top === "seams" && third === "sew") edits.push(...sewRetold(text, key, toml.values.seams[name].sew, piece, edge, change));
    if (top === "pieces" && name === piece && depth === 3 && (third === "unsewn" || third === "fold")) edits.push(...retold(text, valueOf(text, key), (word) => one(own(word))));
    if (top === "pieces" && name === piece && depth === 4 && (third === "allowances" || third === "give-back") && key.path[3] === edge && change(false).length === 1) edits.push(keyRetold(text, key, change(false)[0]));
    if (top === "accepted" && third === "edge") edits.push(...retold(text, valueOf(text, key), (word) => one(whole(word)) ?? (toml.values.accepted[name].piece === piece ? one(own(word)) : null)));
  }
  return edits;
}

/* The sides of a seam with an edge under its new names; one that becomes several makes a row of its side. */
function sewRetold(text, key, sew, piece, edge, change) {
  const mine = (word) => word.replace(/^-/, "") === `${piece}.${edge}`;
  const told = (word) => change(word.startsWith("-")).map((name) => `${word.startsWith("-") ? "-" : ""}${piece}.${name}`);
  if (!sew.flat().some((word) => typeof word === "string" && mine(word))) return [];
  if (change(false).length === 1) return retold(text, valueOf(text, key), (word) => (mine(word) ? told(word)[0] : null));
  const sides = sew.map((side) => [side].flat().flatMap((word) => (mine(word) ? told(word) : [word])));
  return [{ ...valueOf(text, key), put: `[${sides.map((side) => (side.length === 1 ? quoted(side[0]) : listed(side))).join(", ")}]` }];
}

function edgeRenamed(state, key, name) {
  const [piece, edge] = keyParts(key), text = textOf(state), toml = readToml(text);
  const wanted = usableName(name, "edge", state.doc.edges[piece].filter((one) => one !== edge));
  const own = keysUnder(toml, "pieces", piece, "edges").find((one) => one.path[3] === edge);
  if (!own) throw new Refusal("This plan is written in a way that cannot be changed here.");
  const edits = [keyRetold(text, own, wanted), ...edgeMentions(text, toml, piece, edge, () => [wanted])];
  const now = (one) => (one === key ? `${piece}.${wanted}` : one);
  const beyond = { refused: state.refused.map((sides) => sides.map((side) => side.map((use) => ({ ...use, edge: now(use.edge) })))), unknown: state.unknown.map(now) };
  return { state: { ...retoldState(state, replaced(text, edits)), ...beyond }, renamed: { [key]: `${piece}.${wanted}` }, said: `${key} is called ${piece}.${wanted}.` };
}

function cornerRenamed(state, piece, corner, name) {
  const text = textOf(state), toml = readToml(text), own = keysUnder(toml, "pieces", piece, "corners");
  const wanted = usableName(name, "corner", own.map((key) => key.path[3]).filter((one) => one !== corner));
  const mine = own.find((key) => key.path[3] === corner);
  if (!mine) throw new Refusal(`The plan does not name the corner ${corner} of ${piece}.`);
  const edits = [keyRetold(text, mine, wanted)], one = (word) => (word === corner ? wanted : null);
  for (const key of toml.keys) {
    const [top, name_, third] = key.path;
    const ofPiece = top === "pieces" && name_ === piece && ((third === "edges" && key.path.length === 4) || third === "give-back");
    const folded = (top === "darts" || top === "pleats") && third === "corners" && toml.values[top][name_].piece === piece;
    if (ofPiece || folded) edits.push(...retold(text, valueOf(text, key), one));
    if (top === "shaped" && third === "corner") edits.push(...retold(text, valueOf(text, key), (word) => (word === `${piece}.${corner}` ? `${piece}.${wanted}` : null)));
  }
  return { state: retoldState(state, replaced(text, edits)), said: `The corner ${corner} of ${piece} is called ${wanted}.` };
}

/* A corner put on an edge, `station` mm from its start: the edge becomes two, which stay sewn as it was. */
function cornerAdded(data, state, key, station, name) {
  const [piece, edge] = keyParts(key), text = textOf(state), toml = readToml(text), about = data.edges[key];
  if (!(station > 0.5 && station < about.length - 0.5)) throw new Refusal(`Say a distance between 0 and ${mm(about.length)}.`);
  if (state.pieces[piece].fold === edge) throw new Refusal(`${key} is the fold; a corner cannot part it.`);
  const corner = usableName(name, "corner", Object.keys(toml.values.pieces[piece].corners ?? {}));
  const way = toml.values.pieces[piece].edges?.[edge], own = keysUnder(toml, "pieces", piece, "edges").find((one) => one.path[3] === edge);
  if (!own || !way) throw new Refusal("This plan is written in a way that cannot be changed here.");
  const before = way.slice(1, -1).filter((one) => (about.inner.find(([inner]) => inner === one)?.[1] ?? 0) < station);
  const ways = [[way[0], ...before, corner], [corner, ...way.slice(1 + before.length)]], taken = state.doc.edges[piece];
  const names = [1, 2].map((number) => { let told = `${edge}-${number}`; while (taken.includes(told)) told += "-b"; return told; });
  const [x, y] = placeOn(data, key, station).map((value) => Math.round((value / data.unit) * 1e4) / 1e4);
  const line = { start: own.start, end: own.end, put: ways.map((one, i) => `${keyPrefix(text, own)}${keyText(names[i])} = ${listed(one)}`).join(text.slice(own.start, own.end).includes("{") ? ", " : "\n") };
  const edits = [line, keyAdded(text, toml, ["pieces", piece, "corners"], `${keyText(corner)} = [${figure(x)}, ${figure(y)}]`),
    ...edgeMentions(text, toml, piece, edge, (back) => (back ? [...names].reverse() : names))];
  return { state: retoldState(state, replaced(text, edits)), renamed: { [key]: `${piece}.${names[0]}` }, said: `The corner ${corner} parts ${key} into ${names.join(" and ")}.` };
}

/* Where on the sheet a distance along an edge lies, and in the file. */
function placeOn(data, key, station) {
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path"), about = data.edges[key];
  path.setAttribute("d", about.bands[0]);
  const at = path.getPointAtLength((path.getTotalLength() * station) / about.length), [a, b, c, d, e, f] = data.pieces[keyParts(key)[0]].back;
  return [a * at.x + c * at.y + e, b * at.x + d * at.y + f];
}

function blockAdded(state, lines, said) {
  return { state: retoldState(state, `${textOf(state).replace(/\n*$/, "\n")}\n${lines.join("\n")}\n`), said };
}

/* A dart by mouth, tip and mouth, or a pleat by the two corners at which it is folded. */
function foldedAway(state, kind, piece, corners) {
  if (new Set(corners).size !== corners.length) throw new Refusal(`Choose ${corners.length} different corners.`);
  return blockAdded(state, [`[[${kind}s]]`, `piece = ${quoted(piece)}`, `corners = ${listed(corners)}`], `The ${kind} of ${piece} is ${corners.join(", ")}.`);
}

/* A finding that is right as it is, and why. */
function accepted(state, finding, why) {
  if (!why.trim()) throw new Refusal("Say why it is right as it is.");
  const lines = ["[[accepted]]", `check = ${quoted(finding.check)}`];
  for (const key of ["seam", "piece", "edge", "size"]) if (finding[key]) lines.push(`${key} = ${quoted(finding[key])}`);
  return blockAdded(state, [...lines, `why = ${quoted(why.trim())}`], "It is accepted: it is told, and counts no more.");
}

/* Whether a piece is right as it is, so that its mates give way. */
function masterSet(state, piece, master) {
  const text = textOf(state), toml = readToml(text), there = keysUnder(toml, "pieces", piece).find((key) => key.path[2] === "master");
  const line = (start) => { const end = text.indexOf("\n", start); return end < 0 ? text.length : end; };
  const header = toml.headers.find((one) => one.path.length === 2 && one.path[0] === "pieces" && one.path[1] === piece);
  if (!header && !there) throw new Refusal("This plan is written in a way that cannot be changed here.");
  const edit = there ? { ...valueOf(text, there), put: String(master) } : { start: line(header.end), end: line(header.end), put: `\nmaster = ${master}` };
  return { state: retoldState(state, replaced(text, [edit])), said: master ? `${piece} is right as it is: its mates give way.` : `${piece} may give way.` };
}
