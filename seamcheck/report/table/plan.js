// The plan as text: a document whose untouched parts, comments and all, stay as they were written.

/* A seam is {id, origin, name, sides, ease, ratio, tolerance, rest, asked}. `origin` is its name in the document, null for
   a new one; a side is a list of {edge: "piece.edge", back}; ease, ratio are [least, most] in the plan's units or null.
   `rest` are [key, text] of all else that the document says of it. */

function seamText(seam) {
  const side = (uses) => {
    const words = uses.map((use) => (use.back ? "-" : "") + use.edge);
    return words.length === 1 ? quoted(words[0]) : listed(words);
  };
  const span = (pair) => (pair[0] === pair[1] ? figure(pair[0]) : `[${figure(pair[0])}, ${figure(pair[1])}]`);
  const lines = ["[[seams]]", `name = ${quoted(seam.name)}`, `sew = [${seam.sides.map(side).join(", ")}]`];
  if (seam.ease) lines.push(`ease = ${span(seam.ease)}`);
  if (seam.ratio) lines.push(`ratio = ${span(seam.ratio)}`);
  // Where ease lies means nothing without ease.
  lines.push(...seam.rest.filter(([key]) => key !== "ease-between" || seam.ease).map(([, text]) => text));
  return lines.join("\n");
}

/* A seam with one of its other keys written anew, or without it where the text is null. */
function withRest(seam, key, text) {
  const others = seam.rest.filter(([name]) => name !== key);
  return { rest: text === null ? others : [...others, [key, `${key} = ${text}`]] };
}

/* What a seam says under one of its other keys, as it is written; "" where it says nothing. */
function restOf(seam, key) {
  const found = seam.rest.find(([name]) => name === key);
  return found ? found[1].slice(found[1].indexOf("=") + 1).trim() : "";
}

function figure(value) {
  return String(value === 0 ? 0 : value);
}

function commented(text) {
  return text.split("\n").map((line) => `# ${line}`).join("\n");
}

/* A seam as it stands in the text of a plan; null when it is none. */
function seamOf(text, toml, index) {
  const table = toml.values.seams[index];
  const side = (words) => {
    const list = Array.isArray(words) ? words : [words];
    if (!list.length || list.some((word) => typeof word !== "string")) return null;
    return list.map((word) => ({ edge: word.replace(/^-/, ""), back: word.startsWith("-") }));
  };
  const span = (value) => {
    if (typeof value === "number") return [value, value];
    return Array.isArray(value) && value.length === 2 && value.every((one) => typeof one === "number") ? value : null;
  };
  if (typeof table.name !== "string" || !Array.isArray(table.sew) || table.sew.length !== 2) return null;
  const sides = table.sew.map(side);
  if (sides.includes(null)) return null;
  return {
    origin: table.name,
    name: table.name,
    sides,
    ease: span(table.ease),
    ratio: span(table.ratio),
    tolerance: typeof table.tolerance === "number" ? table.tolerance : null,
    rest: toml.keys
      .filter(({ path }) => path[0] === "seams" && path[1] === index && path.length === 3 && !["name", "sew", "ease", "ratio"].includes(path[2]))
      .map(({ path, start, end }) => [path[2], text.slice(start, end)]),
  };
}

function samePlanned(one, other) {
  return seamText(one) === seamText(other);
}

/* The document of a plan's text: {parts, seams, questions, pieces, units}. A part is a text to keep, a seam, the names of
   the seams that a finding is accepted at, or one of the keys of a piece that can be changed here. */
function planDocument(text) {
  const toml = readToml(text);
  const cuts = [...pieceCuts(text, toml), ...acceptedCuts(text, toml)];
  const known = new Set((toml.values.seams ?? []).map((table) => table.name));
  const edgesOf = (name) => Object.keys(toml.values.pieces?.[name]?.edges ?? {});
  const asked = questionCuts(text).filter(({ seam }) => {
    // What is behind "#" for another reason, an older state of a seam say, is a comment like any other.
    const named = seam.sides.flat().every(({ edge }) => edgesOf(edge.slice(0, edge.indexOf("."))).includes(edge.slice(edge.indexOf(".") + 1)));
    const fresh = !known.has(seam.name);
    known.add(seam.name);
    return named && fresh;
  });
  cuts.push(...asked, ...seamCuts(text, toml, asked));
  cuts.sort((a, b) => a.start - b.start || a.end - b.end);
  const parts = [];
  let at = 0;
  for (const cut of cuts) {
    if (cut.start < at) continue;
    parts.push({ kind: "text", text: text.slice(at, cut.start) });
    parts.push({ ...cut, text: text.slice(cut.start, cut.end) });
    at = cut.end;
  }
  parts.push({ kind: "text", text: text.slice(at) });
  const pieces = {};
  for (const [name, table] of Object.entries(toml.values.pieces ?? {})) {
    pieces[name] = {
      unsewn: Array.isArray(table.unsewn) ? [...table.unsewn] : [],
      fold: typeof table.fold === "string" ? table.fold : null,
      cut: table.cut ?? (table.fold ? "fold" : "one"),
    };
  }
  return {
    parts,
    pieces,
    edges: Object.fromEntries(Object.keys(toml.values.pieces ?? {}).map((name) => [name, edgesOf(name)])),
    units: toml.values.units ?? "mm",
    seams: parts.filter((part) => part.kind === "seam" && !part.asked).map((part) => part.seam),
    questions: parts.filter((part) => part.kind === "seam" && part.asked).map((part) => part.seam),
    whole: Object.keys(toml.values.pieces ?? {}).every((name) => parts.some((part) => part.kind === "piece" && part.piece === name))
      && (toml.values.seams ?? []).length === parts.filter((part) => part.kind === "seam" && !part.asked).length,
  };
}

function pieceCuts(text, toml) {
  const cuts = [];
  for (const header of toml.headers) {
    if (header.array || header.path.length !== 2 || header.path[0] !== "pieces") continue;
    const piece = header.path[1];
    for (const name of ["cut", "fold", "unsewn"]) {
      const key = toml.keys.find((one) => one.path.length === 3 && one.path[0] === "pieces" && one.path[1] === piece && one.path[2] === name);
      if (key) {
        cuts.push({ kind: "piece", piece, name, start: key.start, end: key.end, present: true });
      } else {
        const line = text.indexOf("\n", header.end);
        const end = line < 0 ? text.length : line;
        cuts.push({ kind: "piece", piece, name, start: end, end, present: false });
      }
    }
  }
  return cuts;
}

function acceptedCuts(text, toml) {
  return toml.keys
    .filter((key) => key.path[0] === "accepted" && key.path[2] === "seam" && key.path.length === 3)
    .map((key) => ({ kind: "accepted", seam: toml.values.accepted[key.path[1]].seam, start: key.start, end: key.end }));
}

/* From where the comment lines directly above a place begin, but not above `floor`. */
function leadStart(text, start, floor) {
  let begin = text.lastIndexOf("\n", start - 1) + 1;
  while (begin > floor) {
    const above = text.lastIndexOf("\n", begin - 2) + 1;
    if (above < floor || above === begin || !/^[ \t]*#/.test(text.slice(above, begin))) break;
    begin = above;
  }
  return begin;
}

/* Seams that stand behind "#": each a question. */
function questionCuts(text) {
  const cuts = [];
  const head = /^[ \t]*#[ \t]*\[\[seams\]\][ \t]*\r?$/gm;
  let floor = 0;
  for (let match = head.exec(text); match; match = head.exec(text)) {
    if (match.index < floor) continue;
    let end = match.index + match[0].length, body = "[[seams]]", found = null;
    for (let from = end + 1; from <= text.length; ) {
      const stop = text.indexOf("\n", from) < 0 ? text.length : text.indexOf("\n", from);
      const line = /^[ \t]*#[ \t]?(.*?)\r?$/.exec(text.slice(from, stop));
      if (!line || /^\s*\[/.test(line[1])) break;
      body += "\n" + line[1];
      try {
        const seam = seamOf(body, readToml(body), 0);
        if (seam) { found = seam; end = stop; }
      } catch (error) {
        if (!(error instanceof TomlError)) throw error;
      }
      from = stop + 1;
    }
    if (!found) continue;
    const start = leadStart(text, match.index, floor);
    cuts.push({ kind: "seam", asked: true, seam: found, start, end, lead: text.slice(start, match.index) });
    floor = end;
  }
  return cuts;
}

function seamCuts(text, toml, asked) {
  const cuts = [];
  toml.headers.forEach((header, i) => {
    if (!header.array || header.path.join() !== "seams") return;
    const seam = seamOf(text, toml, header.index);
    if (!seam) return;
    const next = toml.headers[i + 1]?.start ?? text.length;
    const inside = toml.keys.filter((key) => key.start > header.start && key.start < next);
    let end = Math.max(header.end, ...inside.map((key) => key.end));
    const line = text.indexOf("\n", end);
    end = line < 0 ? text.length : line;
    const floor = Math.max(0, ...toml.keys.filter((key) => key.end < header.start).map((key) => key.end),
      ...toml.headers.filter((one) => one.end < header.start).map((one) => one.end),
      ...asked.filter((one) => one.end <= header.start).map((one) => one.end));
    const start = leadStart(text, header.start, floor);
    cuts.push({ kind: "seam", asked: false, seam, start, end, lead: text.slice(start, header.start) });
  });
  return cuts;
}

/* The text of a document with other seams and other words for its pieces. */
function planText(doc, seams, pieces) {
  const byOrigin = new Map(seams.filter((seam) => seam.origin !== null).map((seam) => [seam.origin, seam]));
  const placed = new Set();
  const out = [];
  let last = -1; // behind which part new seams go
  for (const part of doc.parts) {
    if (part.kind === "text") { out.push(part.text); continue; }
    if (part.kind === "piece") {
      const told = pieceKeyText(part, doc.pieces[part.piece], pieces[part.piece]);
      // A key that is taken out takes its line with it.
      if (part.present && !told) out[out.length - 1] = out[out.length - 1].replace(/\n[ \t]*$/, "");
      out.push(told);
      continue;
    }
    if (part.kind === "accepted") {
      const seam = byOrigin.get(part.seam);
      out.push(seam && seam.name !== part.seam ? `seam = ${quoted(seam.name)}` : part.text);
      continue;
    }
    const seam = byOrigin.get(part.seam.origin);
    if (!seam || placed.has(seam.id)) {
      // The blank line above what is taken out goes with it.
      out[out.length - 1] = out[out.length - 1].replace(/\n\s*\n$/, "\n");
    } else {
      placed.add(seam.id);
      if (seam.asked === part.asked && samePlanned(seam, part.seam)) out.push(part.text);
      else if (seam.asked) out.push(part.lead + commented(seamText(seam)));
      else out.push((part.asked ? "" : part.lead) + seamText(seam));
    }
    last = out.length;
  }
  // What is only proposed is written when somebody says that it is sewn.
  const told = seams.filter((seam) => !placed.has(seam.id) && !seam.asked).map(seamText);
  if (last < 0) {
    const end = out.join("").replace(/\n*$/, "\n");
    return told.length ? `${end}\n${told.join("\n\n")}\n` : end;
  }
  if (told.length) out.splice(last, 0, `\n\n${told.join("\n\n")}`);
  return out.join("").replace(/^\n+/, "").replace(/\n*$/, "\n");
}

function pieceKeyText(part, before, after) {
  const was = before[part.name], is = after[part.name];
  if (JSON.stringify(was) === JSON.stringify(is)) return part.text;
  const empty = part.name === "unsewn" ? !is.length : is === null;
  if (empty && (!part.present || part.name === "fold")) return "";
  const told = part.name === "unsewn" ? listed(is) : typeof is === "number" ? String(is) : quoted(is);
  return `${part.present ? "" : "\n"}${part.name} = ${told}`;
}
