// The panel beside the table: what is chosen, what is asked, the seams, the open edges, the plan.

const LIKELY = 0.5; // a proposal that is likelier may be confirmed with all others
let pressing = false, waiting = false;

/* Show the state. While a button of the mouse is down nothing may move away under it, so that waits. */
function render() {
  waiting = pressing;
  if (waiting) return;
  if (chosen?.seam && !seamOfId(chosen.seam)) choose(null);
  if (gesture?.seam && !seamOfId(gesture.seam)) gesture = null;
  if (did && !seamOfId(did)) did = null;
  const giveBack = heldFocus();
  drawTools();
  drawEdges();
  drawSeams();
  drawChosen();
  drawAsk();
  drawLists();
  drawLook();
  drawTruing();
  drawAltering();
  tellReadout();
  const text = textOf(state);
  if ($("plan").value !== text) $("plan").value = text;
  $("undo").setAttribute("aria-disabled", String(!past.length));
  $("redo").setAttribute("aria-disabled", String(!future.length));
  giveBack();
}

function drawTools() {
  document.body.dataset.tool = tool;
  document.querySelectorAll("[data-tool-of]").forEach((one) => { one.hidden = !one.dataset.toolOf.split(" ").includes(tool); });
  document.querySelectorAll("[data-host-of]").forEach((one) => { one.hidden = one.dataset.hostOf !== data.host; });
  document.querySelectorAll("#tools-nav button").forEach((one) => one.setAttribute("aria-pressed", String(one.dataset.tool === tool)));
}

function setTool(next) {
  tool = next;
  choose(null);
  gesture = did = lit = null;
  pointAt(null);
  if (next === "true") openTruing();
  if (next === "alter") openAltering();
  say({ look: "Look: point at an edge, or choose what was found.", sew: "Sew: choose an edge, then the edge it is sewn to.", true: "True: new lines are proposed and drawn before anything is taken.", alter: "Alter: rehearse a fit; nothing is written before you say so.", send: "Print and send." }[next]);
  render();
}

/* --- the question ----------------------------------------------------------------------------------------------- */

function drawAsk() {
  const asked = data.question, items = [];
  const open = asked && data.edges[asked.edge] && roleOf(state, asked.edge) !== "sewn" && !chosen;
  const solving = asked && !open && !chosen && host.busy; // the next question takes the place of this one, under the keys too
  if (open) items.push({ key: asked.edge, signature: JSON.stringify(asked), build: () => askCard(asked) });
  if (solving) items.push({ key: "solving", signature: "", build: () => h("p", { class: "quiet" }, "What follows from that is worked out ...") });
  reconcile($("ask"), items);
  $("ask-box").hidden = !items.length || tool !== "sew";
}

function askCard(asked) {
  const key = asked.edge, length = mm(data.edges[key].length);
  const answer = (change) => () => apply(change);
  const light = (keys) => { lit = keys; drawEdges(); };
  const option = (mate, i) => {
    const edges = mate.sides.flat().map((use) => use.edge), twin = isTwin(mate);
    const beside = mate.sides[0].length > 1 ? ` (with ${mate.sides[0].filter((use) => use.edge !== key).map((use) => use.edge).join(" and ")})` : "";
    const words = twin ? twinOf(state, key) : sideText(mate.sides[1]).replace(/(^|\s)-/g, "$1") + (mate.otherWay ? ", the other way round" : "");
    return h("li", {}, h("button", {
      type: "button", class: "option", "data-focus": `answer ${i}`, onclick: answer(() => sewn(data, state, mate.sides, { name: mate.name, ease: mate.ease, ratio: mate.ratio })),
      onpointerenter: () => light(edges), onfocus: () => light(edges), onpointerleave: () => light([key]),
    }, h("b", {}, words + beside), ` ${twin ? "" : `${mm(sideLength(data, mate.sides[1]))}, `}${Math.min(99, Math.round(mate.likely * 100))}% likely`),
      mate.reasons.length ? h("p", { class: "quiet" }, mate.reasons.slice(0, 2).join("; ")) : null);
  };
  return h("div", {},
    h("p", {}, "What is ", h("b", {}, key), ` (${length}) sewn to?`),
    h("ol", { class: "options" }, ...asked.mates.map(option)),
    h("div", { class: "small" },
      button("It stays free", "answer free", answer(() => marked(state, key, "unsewn"))),
      button("It lies on the fold", "answer fold", answer(() => marked(state, key, "fold"))),
      button("I do not know", "answer unknown", answer(() => leftOpen(state, key))),
      button("Show it", "answer show", () => { light([key]); showEdges([key]); })));
}

/* --- the lists -------------------------------------------------------------------------------------------------- */

function likelyOf(seam) {
  return seam.likely ?? data.seams?.[seam.origin]?.confidence ?? 0;
}

function drawLists() {
  const row = (seam) => ({ key: `${seam.id}`, signature: JSON.stringify([seam, chosen?.seam === seam.id]), build: () => seamRow(seam) });
  const asked = state.seams.filter((seam) => seam.asked), sewn = state.seams.filter((seam) => !seam.asked);
  reconcile($("questions"), [...asked].sort((a, b) => likelyOf(b) - likelyOf(a) || a.id - b.id).map(row));
  reconcile($("seams"), sewn.map(row));
  const open = openEdges();
  reconcile($("open-edges"), open.map((key) => ({
    key, signature: key,
    build: () => h("li", {}, button(`${key}, ${mm(data.edges[key].length)}`, `open ${key}`, () => { showEdges([key]); chooseEdge(key); })),
  })));
  const ready = asked.filter((seam) => likelyOf(seam) >= LIKELY).length;
  $("yes-all").hidden = ready < 2;
  $("yes-all").textContent = `Yes to all ${ready} likely ones`;
  $("rest-free").hidden = open.length < 2;
  $("rest-free").textContent = `These ${open.length} stay free`;
  $("no-questions").hidden = asked.length > 0;
  $("minus").hidden = !sewn.some((seam) => seam.sides.flat().some((use) => use.back));
  $("no-seams").hidden = sewn.length > 0;
  $("no-open").hidden = open.length > 0;
  $("lost").textContent = data.lost.length ? `The plan names edges that were not found in the drawing: ${data.lost.join(", ")}.` : "";
  $("counts").textContent = `${counted(sewn.length, "seam")}, ${counted(asked.length, "question")}, ${counted(open.length, "open edge")}`;
}

function openEdges() {
  return Object.keys(data.edges).filter((key) => roleOf(state, key) === "open" && state.pieces[keyParts(key)[0]]);
}

function seamRow(seam) {
  const about = seam.origin === null ? seam : data.seams?.[seam.origin], lengths = lengthsOf(data, seam);
  const words = seam.asked && about?.reasons
    ? [...about.reasons, `${Math.min(Math.round(likelyOf(seam) * 100), 99)}% likely`, ...(about.runnerUp ? [`Otherwise: ${about.runnerUp}`] : [])] : [];
  const allowed = seam.ease ? `; ease ${spanText(seam.ease)} ${data.units}` : seam.ratio ? `; ratio ${spanText(seam.ratio)}` : "";
  return h("li", { class: chosen?.seam === seam.id ? "chosen" : null },
    h("svg", { class: "plate-box", viewBox: "-4 -4 8 8", "aria-hidden": "true" }, plate({ ...seam })),
    h("div", { class: "told" },
      button(seam.name, `seam ${seam.id}`, () => chooseSeam(seam.id), { class: "name", "aria-label": `${seam.asked ? "Question" : "Seam"} ${seam.id}, ${seam.name}` }),
      h("div", {}, sewnText(state, seam)),
      h("div", { class: lengths.off ? "off" : "quiet" }, `${lengths.told}${allowed}${lengths.off ? `; ${mm(lengths.beyond)} off` : ""}`),
      words.length ? h("ul", {}, ...words.map((word) => h("li", {}, word))) : null),
    seam.asked
      ? h("div", { class: "answers" },
        button("Yes", `yes ${seam.id}`, () => apply(() => confirmed(state, seam.id)), { "aria-label": `Yes, ${seam.name} is a seam` }),
        button("No", `no ${seam.id}`, () => apply(() => parted(state, seam.id)), { "aria-label": `No, drop ${seam.name}` }))
      : h("div", { class: "answers" }, button("Part", `part ${seam.id}`, () => apply(() => parted(state, seam.id)), { "aria-label": `Part seam ${seam.id}, ${seam.name}` })));
}

function spanText(span) {
  return span[0] === span[1] ? figure(span[0]) : `${figure(span[0])} to ${figure(span[1])}`;
}

/* --- what is chosen --------------------------------------------------------------------------------------------- */

function drawChosen() {
  const seam = chosen?.seam && seamOfId(chosen.seam), made = did && seamOfId(did);
  const items = [];
  if (seam) {
    // What is typed is brought up to date in place; anything else builds the form anew.
    const { name, ease, ratio, rest, tolerance, ...other } = seam;
    items.push({ key: `seam ${seam.id}`, signature: JSON.stringify([other, gesture]), build: () => seamForm(seam) });
  } else if (chosen?.piece) {
    const key = chosen.piece;
    items.push({ key: `piece ${key}`, signature: JSON.stringify([state.pieces[key], textOf(state).length, data.pieces[key]?.corners]), build: () => pieceForm(key) });
  } else if (chosen?.edge && data.edges[chosen.edge]) {
    const key = chosen.edge;
    items.push({ key: `edge ${key}`, signature: JSON.stringify([roleOf(state, key), seamsWith(state, key), mates, gesture, data.edges[key].length]), build: () => edgeForm(key) });
  } else if (made) {
    items.push({ key: `did ${did}`, signature: JSON.stringify([made, rowsWith(state, did)]), build: () => didCard(made) });
  } else {
    items.push({ key: "nothing", signature: tool, build: () => h("p", { class: "quiet" }, "Choose an edge on the table, or a seam in the lists.") });
  }
  reconcile($("chosen"), items);
  if (seam) fillForm(seam);
}

/* What was just sewn: nothing is chosen, but it is at hand. */
function didCard(seam) {
  return h("div", {}, h("p", {}, h("b", {}, seam.name), `: ${sewnText(state, seam)}`), isTwin(seam) ? null : strip(...seam.sides),
    h("div", { class: "small" },
      ...rowsWith(state, seam.id).map((row) => button(`One row with seam ${row.id}, ${seamOfId(row.id).name}`, `row ${seam.id} ${row.id}`, () => apply(() => madeRow(data, state, seam.id, row)))),
      button("Change it", `change ${seam.id}`, () => chooseSeam(seam.id)), button("Take it back", `back ${seam.id}`, undo)));
}

function edgeForm(key) {
  const edge = data.edges[key], role = roleOf(state, key), seams = seamsWith(state, key), [piece, name] = keyParts(key);
  const toggle = (label, word) => button(label, `${word} ${key}`, () => { if (apply(() => marked(state, key, word))) { choose({ edge: key, settled: true }); render(); } }, { "aria-pressed": String(role === word) });
  const mateRow = (mate, i) => {
    const other = mate.sides[1], off = sideLength(data, mate.sides[0]) - sideLength(data, other), edges = other.map((use) => use.edge);
    const likely = mate.likely === null ? "" : `, ${Math.min(99, Math.round(mate.likely * 100))}% likely`;
    const words = isTwin(mate) ? twinOf(state, key) : sideText(other).replace(/(^|\s)-/g, "$1") + (mate.otherWay ? ", the other way round" : "");
    return h("li", {}, h("button", {
      type: "button", class: "option", "data-focus": `mate ${i}`, onclick: () => apply(() => sewn(data, state, mate.sides, mate)),
      onpointerenter: () => { lit = edges; drawEdges(); }, onfocus: () => { lit = edges; drawEdges(); }, onpointerleave: () => { lit = null; drawEdges(); },
    }, h("b", {}, words), isTwin(mate) ? likely : `, ${Math.abs(off) < 0.05 ? "no difference" : `${mm(Math.abs(off))} ${off > 0 ? "shorter" : "longer"}`}${likely}`));
  };
  return h("div", {},
    h("p", {}, h("b", {}, key), ` ${both(edge.length)}, from ${edge.start} to ${edge.end}`),
    seams.length
      ? h("ul", { class: "flow" }, ...seams.map((seam) => h("li", {},
        button(`${seam.asked ? "Question" : "Seam"} ${seam.id}, ${seam.name}`, `of ${seam.id}`, () => chooseSeam(seam.id)),
        " ", button(seam.asked ? "Drop" : "Part", `of-part ${seam.id}`, () => apply(() => parted(state, seam.id)),
          { "aria-label": `${seam.asked ? "Drop question" : "Part seam"} ${seam.id}, ${seam.name}` }))))
      : null,
    tool === "sew" && mates.length ? h("div", {}, h("h3", {}, "Likely mates"), h("ol", { class: "options" }, ...mates.map(mateRow))) : null,
    h("div", { class: "small" }, toggle("Stays free", "unsewn"), toggle("Lies on the fold", "fold"),
      button(`Sew to ${twinOf(state, key)}`, `twin ${key}`, () => apply(() => joined(data, state, key, key))),
      button(`Piece ${piece}`, `piece ${piece}`, () => { choose({ piece }); render(); }),
      button("Let go", `let-go ${key}`, letGo)),
    host.rereads ? h("details", {}, h("summary", {}, "Name it, or put a corner on it"),
      field("Name of the edge", "edge-name", name, (typed) => apply(() => edgeRenamed(state, key, typed))),
      cornerForm(key)) : null);
}

/* A field with a label, told when it is left with another text in it. */
function field(label, focusKey, value, act, more = {}) {
  return h("label", { class: "line-of" }, `${label} `, h("input", {
    type: "text", autocomplete: "off", "data-focus": focusKey, value, class: "wide-field", ...more,
    onchange: (event) => { if (act(event.target.value) === false) event.target.value = value; },
  }));
}

function cornerForm(key) {
  const [piece] = keyParts(key), taken = Object.keys(data.pieces[piece].corners);
  let free = 1;
  while (taken.includes(`corner-${free}`)) free += 1;
  const name = h("input", { type: "text", value: `corner-${free}`, "data-focus": `corner-name ${key}`, autocomplete: "off" });
  const at = h("input", { type: "text", inputmode: "decimal", "data-focus": `corner-at ${key}`, autocomplete: "off", class: "short" });
  return h("fieldset", {}, h("legend", {}, "A corner on this edge"),
    h("label", { class: "line-of" }, "Its name ", name),
    h("label", { class: "line-of" }, `mm from ${data.edges[key].start} `, at),
    h("div", { class: "small" },
      button("Put it there", `corner-put ${key}`, () => apply(() => cornerAdded(data, state, key, amount(at.value, "ease"), name.value))),
      button("Click the place instead", `corner-click ${key}`, () => { gesture = { kind: "corner", piece: key, name: name.value }; say(`Click the place on ${key} where ${name.value} is to be.`); render(); },
        { "aria-pressed": String(gesture?.kind === "corner") })));
}

function pieceForm(name) {
  const piece = state.pieces[name], corners = Object.keys(data.pieces[name]?.corners ?? {}), known = Object.keys(readToml(textOf(state)).values.pieces?.[name]?.corners ?? {});
  const cuts = [["one", "once"], ["pair", "a mirrored pair"], ["fold", "on the fold"], ["number", "so many times"]];
  const now = typeof piece.cut === "number" ? "number" : piece.cut;
  const count = h("input", { type: "text", inputmode: "numeric", class: "short", value: typeof piece.cut === "number" ? piece.cut : 2, "aria-label": "How many times", "data-focus": `count ${name}` });
  const cutIt = (cut) => apply(() => cutAs(state, name, cut === "number" ? Number(count.value) : cut));
  count.addEventListener("change", () => cutIt("number"));
  const pick = (label, focusKey) => h("label", {}, `${label} `, h("select", { "data-focus": focusKey }, ...known.map((corner) => h("option", {}, corner))));
  const folded = (kind, words) => {
    const selects = words.map((word, i) => pick(word, `${kind} ${i} ${name}`));
    return h("fieldset", {}, h("legend", {}, kind === "dart" ? "A dart" : "A pleat"), h("div", { class: "amounts" }, ...selects),
      h("div", { class: "small" }, button(`Make it a ${kind}`, `make-${kind} ${name}`, () => apply(() => foldedAway(state, kind, name, selects.map((one) => one.querySelector("select").value))))));
  };
  return h("div", {},
    h("p", {}, h("b", {}, name)),
    h("fieldset", {}, h("legend", {}, "How it is cut"), h("div", { class: "amounts" },
      ...cuts.map(([value, label]) => h("label", {}, h("input", { type: "radio", name: `cut-${name}`, value, checked: now === value, "data-focus": `cut ${value} ${name}`, onchange: () => { if (cutIt(value) === false) render(); } }), ` ${label}`)), count)),
    h("label", {}, h("input", { type: "checkbox", checked: /^master\s*=\s*true/m.test(ownTable(name)), "data-focus": `master ${name}`, onchange: (event) => apply(() => masterSet(state, name, event.target.checked)) }), " Right as it is: its mates give way"),
    host.rereads ? h("details", {}, h("summary", {}, "Corners, darts and pleats"),
      ...known.map((corner) => field(`Corner ${corner}`, `corner ${corner} ${name}`, corner, (typed) => apply(() => cornerRenamed(state, name, corner, typed)))),
      known.length > 2 ? folded("dart", ["mouth", "tip", "mouth"]) : null, known.length > 1 ? folded("pleat", ["fold", "fold"]) : null) : h("p", { class: "quiet" }, `Corners: ${corners.join(", ")}`),
    h("div", { class: "small" }, button("Done", `done ${name}`, letGo)));
}

/* What stands under the header of a piece alone. */
function ownTable(name) {
  const text = textOf(state), toml = readToml(text), keys = keysUnder(toml, "pieces", name);
  return keys.map((key) => text.slice(key.start, key.end)).join("\n");
}

function seamForm(seam) {
  const id = seam.id, act = (change) => () => apply(change);
  const sideBox = (side, k) => h("fieldset", {},
    h("legend", {}, k ? "Second side" : "First side"),
    h("ol", {}, ...side.map((use, i) => {
      const [from, to] = useEnds(data, use), focusKey = `${id} ${k} ${i}`;
      const step = (label, word) => button(label, `${word} ${focusKey}`, act(() => rearranged(state, id, k, i, word)), { "aria-label": `${label}: ${use.edge}` });
      return h("li", {}, h("span", { class: "use" }, `${use.edge}, from ${from.slice(from.indexOf(".") + 1)} to ${to.slice(to.indexOf(".") + 1)}`),
        h("div", { class: "small" }, step("Turn", "turn"),
          ...(side.length > 1 ? [step("Earlier", "earlier"), step("Later", "later"), step("Take out", "remove")] : [])));
    })),
    h("div", { class: "small" },
      button("Add an edge", `add ${id} ${k}`, () => { gesture = { kind: "add", seam: id, side: k }; say(`Choose the edge to add to the ${k ? "second" : "first"} side.`); render(); if (focus) moveFocus(focus); },
        { "aria-pressed": String(gesture?.kind === "add" && gesture.side === k) }),
      button("Walk from the other end", `turn-all ${id} ${k}`, act(() => rearranged(state, id, k, 0, "turn-all")))));
  const kinds = [["none", "one length"], ["ease", `ease (${data.units})`], ["ratio", "ratio, for gathers"]];
  const typed = () => {
    const kind = form.querySelector(`input[name=kind-${id}]:checked`).value, [from, to] = ["from", "to"].map((name) => $(`${name}-${id}`).value);
    if (kind !== "none" && !from.trim()) {
      showKind(kind);
      return $(`from-${id}`).focus();
    }
    return apply(() => allowed(state, id, kind, from, to, data.units)) || showKind(kind);
  };
  const other = (label, key) => h("label", { class: "line-of" }, `${label} `, h("input", {
    type: "text", id: `${key}-${id}`, "data-focus": `${key} ${id}`, autocomplete: "off", class: "short", onchange: (event) => { if (!apply(() => restSet(state, id, key, event.target.value))) fillForm(seamOfId(id)); },
  }));
  const form = h("form", { onsubmit: (event) => { event.preventDefault(); } },
    h("p", {}, seam.asked ? `Question ${id}: is this a seam?` : `Seam ${id}`),
    h("label", { class: "line-of" }, "Name ", h("input", {
      type: "text", id: `name-${id}`, "data-focus": `name ${id}`, class: "wide-field", autocomplete: "off",
      onchange: (event) => { if (!apply(() => renamed(state, id, event.target.value))) event.target.value = seamOfId(id).name; },
    })),
    sideBox(seam.sides[0], 0), sideBox(seam.sides[1], 1),
    h("p", { class: "ends" }), h("p", { class: "lengths" }), h("div", { class: "beside" }),
    h("fieldset", {}, h("legend", {}, "First side against second"),
      h("div", { class: "amounts" }, ...kinds.map(([value, label]) => h("label", {}, h("input", {
        type: "radio", name: `kind-${id}`, value, "data-focus": `kind ${value} ${id}`, onchange: typed,
      }), ` ${label}`))),
      h("div", { class: "amounts range" },
        ...["from", "to"].map((name) => h("label", {}, `${name} `, h("input", { type: "text", inputmode: "decimal", id: `${name}-${id}`, "data-focus": `${name} ${id}`, autocomplete: "off", onchange: typed })))),
      h("p", { class: "quiet range" }, "Leave \"to\" empty for one number. Below 0: the first side is shorter.")),
    h("details", { class: "more" }, h("summary", {}, "Tolerance, where the ease lies, which side is right"),
      other(`It may be off by (${data.units})`, "tolerance"), other("All ease lies between, along the second side, such as 85 to 400", "ease-between"),
      h("label", { class: "line-of" }, "Which side is right as it is ", h("select", { id: `master-${id}`, "data-focus": `master ${id}`, onchange: (event) => apply(() => restSet(state, id, "master", event.target.value)) },
        ...[["", "neither"], ["first", "the first"], ["second", "the second"]].map(([value, label]) => h("option", { value }, label))))),
    h("div", { class: "small" },
      ...(seam.asked ? [button("Yes, a seam", `yes-form ${id}`, act(() => confirmed(state, id)))] : []),
      button(seam.asked ? "No, drop it" : "Part this seam", `part-form ${id}`, act(() => parted(state, id))),
      button("Done", `done ${id}`, letGo)));
  const showKind = (kind) => form.querySelectorAll(".range").forEach((element) => { element.hidden = kind === "none"; });
  form.showKind = showKind;
  return form;
}

function fillForm(seam) {
  const id = seam.id, form = $("chosen").firstElementChild, set = (input, value) => { if (input.value !== value) input.value = value; };
  set($(`name-${id}`), seam.name);
  const kind = seam.ease ? "ease" : seam.ratio ? "ratio" : "none", span = seam.ease ?? seam.ratio;
  form.querySelectorAll(`input[name=kind-${id}]`).forEach((radio) => { radio.checked = radio.value === kind; });
  form.showKind(kind);
  if (span) {
    set($(`from-${id}`), figure(span[0]));
    set($(`to-${id}`), span[0] === span[1] ? "" : figure(span[1]));
  }
  set($(`tolerance-${id}`), restOf(seam, "tolerance"));
  set($(`ease-between-${id}`), restOf(seam, "ease-between").replace(/[[\]]/g, "").replace(/\s*,\s*/, " to "));
  set($(`master-${id}`), restOf(seam, "master").replace(/["']/g, ""));
  const [one, two] = seam.sides.map((side) => sideEnds(data, side));
  form.querySelector(".ends").textContent = isTwin(seam)
    ? "Each end meets the same end again." : `A: ${one[0]} meets ${two[0]}. B: ${one[1]} meets ${two[1]}.`;
  const lengths = lengthsOf(data, seam);
  const shape = Math.abs(lengths.difference) < 0.005 ? "the same" : `the first is ${lengths.difference > 0 ? "longer" : "shorter"} by ${mm(Math.abs(lengths.difference))}`;
  form.querySelector(".lengths").textContent = isTwin(seam)
    ? `${mm(lengths.first)}.` : `${lengths.told}: ${shape}, ratio ${(lengths.first / lengths.second).toFixed(3)}.`;
  form.querySelector(".beside").replaceChildren(...(isTwin(seam) ? [] : [strip(...seam.sides) ?? ""]),
    ...warnings(data, state, ...seam.sides).map((warning) => h("p", { class: "off" }, warning)));
}
