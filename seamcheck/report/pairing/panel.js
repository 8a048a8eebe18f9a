// The panel beside the picture: what is chosen, the questions, the seams, the open edges, the plan.

let pressing = false, waiting = false;

/* Show the state. While a button of the mouse is down nothing may move away under it, so that waits. */
function render() {
  waiting = pressing;
  if (waiting) return;
  if (chosen?.seam && !state.seams.some((seam) => seam.id === chosen.seam)) chosen = null;
  if (adding && !state.seams.some((seam) => seam.id === adding.seam)) adding = null;
  const active = document.activeElement, key = active?.dataset?.focus, section = active?.closest?.("section")?.querySelector("h2");
  drawEdges();
  drawSeams();
  drawChosen();
  drawLists();
  drawPlan(textOf(state));
  $("undo").setAttribute("aria-disabled", String(!past.length));
  $("redo").setAttribute("aria-disabled", String(!future.length));
  // Who was on a button that is gone is taken to where it was.
  if (active && active !== document.body && !active.isConnected) {
    const same = key && document.querySelector(`[data-focus="${CSS.escape(key)}"]`);
    if (same) same.focus();
    else if (section?.isConnected) section.focus();
  }
}

/* The plan's text, scrolled to where it has changed. */
function drawPlan(text) {
  const field = $("plan"), before = field.value.split("\n"), after = text.split("\n");
  if (field.value === text) return;
  const first = field.value ? after.findIndex((line, i) => line !== before[i]) : 0;
  field.value = text;
  const height = (field.scrollHeight - 12) / after.length;
  field.scrollTop = Math.max(0, ((first < 0 ? after.length : first) - 3) * height);
}

function button(label, focusKey, act, more = {}) {
  return h("button", { type: "button", "data-focus": focusKey, onclick: act, ...more }, label);
}

function drawLists() {
  const row = (seam) => ({
    key: `${seam.id}`,
    signature: JSON.stringify([seam, chosen?.seam === seam.id]),
    build: () => seamRow(seam),
  });
  const asked = state.seams.filter((seam) => seam.asked), sewn = state.seams.filter((seam) => !seam.asked);
  reconcile($("questions"), asked.map(row));
  reconcile($("seams"), sewn.map(row));
  const open = Object.keys(data.edges).filter((key) => roleOf(state, key) === "open");
  reconcile($("open-edges"), open.map((key) => ({
    key, signature: key,
    build: () => h("li", {}, button(`${key}, ${mm(data.edges[key].length)}`, `open ${key}`, () => { showEdge(key); chooseEdge(key); })),
  })));
  $("no-questions").hidden = asked.length > 0;
  $("minus").hidden = !sewn.some((seam) => seam.sides.flat().some((use) => use.back));
  $("no-seams").hidden = sewn.length > 0;
  $("no-open").hidden = open.length > 0;
  const count = (number, one) => `${number} ${one}${number === 1 ? "" : "s"}`;
  $("counts").textContent = `${count(sewn.length, "seam")}, ${count(asked.length, "question")}, ${count(open.length, "open edge")}`;
}

/* Move the picture in its pane, and nothing else, until some of the edge is seen. */
function showEdge(key) {
  const line = optionOf.get(key)?.querySelector(".line");
  if (!line) return;
  const pane = $("pane"), room = pane.getBoundingClientRect(), there = line.getBoundingClientRect(), margin = 24;
  if (there.bottom < room.top + margin || there.top > room.bottom - margin) pane.scrollTop += there.top - room.top - 2 * margin;
  if (there.right < room.left + margin || there.left > room.right - margin) pane.scrollLeft += there.left - room.left - 2 * margin;
}

function seamRow(seam) {
  const about = data.seams[seam.origin], lengths = lengthsOf(seam);
  const words = seam.asked && about
    ? [...about.reasons, `${Math.min(Math.round(about.confidence * 100), 99)}% likely`, ...(about.runnerUp ? [`Otherwise: ${about.runnerUp}`] : [])] : [];
  const allowed = seam.ease ? `; ease ${spanText(seam.ease)} ${data.units}` : seam.ratio ? `; ratio ${spanText(seam.ratio)}` : "";
  return h("li", { class: chosen?.seam === seam.id ? "chosen" : null },
    h("svg", { class: "plate-box", viewBox: "-4 -4 8 8", "aria-hidden": "true" }, plate({ ...seam })),
    h("div", { class: "told" },
      button(seam.name, `seam ${seam.id}`, () => chooseSeam(seam.id), { class: "name", "aria-label": `${seam.asked ? "Question" : "Seam"} ${seam.id}, ${seam.name}` }),
      h("div", {}, sewnText(seam)),
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

function drawChosen() {
  const seam = chosen?.seam && state.seams.find((one) => one.id === chosen.seam);
  const items = [];
  if (seam) {
    // What is typed is brought up to date in place; anything else builds the form anew.
    const { name, ease, ratio, ...rest } = seam;
    items.push({ key: `seam ${seam.id}`, signature: JSON.stringify([rest, adding]), build: () => seamForm(seam) });
  } else if (chosen?.edge) {
    const key = chosen.edge;
    items.push({ key: `edge ${key}`, signature: JSON.stringify([roleOf(state, key), seamsWith(state, key)]), build: () => edgeForm(key) });
  } else {
    items.push({ key: "nothing", signature: "", build: () => h("p", { class: "quiet" }, "Click an edge in the picture, or a seam in the lists.") });
  }
  reconcile($("chosen"), items);
  if (seam) fillForm(seam);
}

function edgeForm(key) {
  const edge = data.edges[key], role = roleOf(state, key), seams = seamsWith(state, key);
  const toggle = (label, word) => button(label, `${word} ${key}`, () => { if (apply(() => marked(state, key, word))) chosen = { edge: key, settled: true }; }, { "aria-pressed": String(role === word) });
  return h("div", {},
    h("p", {}, h("b", {}, key), ` ${mm(edge.length)}, from ${edge.start} to ${edge.end}`),
    seams.length
      ? h("ul", { class: "flow" }, ...seams.map((seam) => h("li", {},
        button(`${seam.asked ? "Question" : "Seam"} ${seam.id}, ${seam.name}`, `of ${seam.id}`, () => chooseSeam(seam.id)),
        " ", button(seam.asked ? "Drop" : "Part", `of-part ${seam.id}`, () => apply(() => parted(state, seam.id)),
          { "aria-label": `${seam.asked ? "Drop question" : "Part seam"} ${seam.id}, ${seam.name}` }))))
      : null,
    h("div", { class: "small" }, toggle("Unsewn", "unsewn"), toggle("The fold", "fold"),
      button(`Sew to ${twinOf(key)}`, `twin ${key}`, () => apply(() => joined(data, state, key, key))),
      button("Let go", `let-go ${key}`, letGo)));
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
      button("Add an edge", `add ${id} ${k}`, () => { adding = { seam: id, side: k }; say(`Choose the edge to add to the ${k ? "second" : "first"} side.`); render(); if (focus) moveFocus(focus); },
        { "aria-pressed": String(adding?.seam === id && adding?.side === k) }),
      button("Walk from the other end", `turn-all ${id} ${k}`, act(() => rearranged(state, id, k, 0, "turn-all")))));
  const kinds = [["none", "one length"], ["ease", `ease (${data.units})`], ["ratio", "ratio"]];
  const typed = () => {
    const kind = form.querySelector("input[type=radio]:checked").value, [from, to] = ["from", "to"].map((name) => $(`${name}-${id}`).value);
    if (kind !== "none" && !from.trim()) {
      showKind(kind);
      return $(`from-${id}`).focus();
    }
    return apply(() => allowed(state, id, kind, from, to, data.units)) || showKind(kind);
  };
  const form = h("form", { onsubmit: (event) => { event.preventDefault(); } },
    h("p", {}, seam.asked ? `Question ${id}: is this a seam?` : `Seam ${id}`),
    h("label", { class: "line-of" }, "Name ", h("input", {
      type: "text", id: `name-${id}`, "data-focus": `name ${id}`, class: "wide-field", autocomplete: "off",
      onchange: (event) => { if (!apply(() => renamed(state, id, event.target.value))) event.target.value = state.seams.find((one) => one.id === id).name; },
    })),
    sideBox(seam.sides[0], 0), sideBox(seam.sides[1], 1),
    h("p", { class: "ends" }), h("p", { class: "lengths" }),
    h("fieldset", {}, h("legend", {}, "First side against second"),
      h("div", { class: "amounts" }, ...kinds.map(([value, label]) => h("label", {}, h("input", {
        type: "radio", name: `kind-${id}`, value, "data-focus": `kind ${value} ${id}`, onchange: typed,
      }), ` ${label}`))),
      h("div", { class: "amounts range" },
        ...["from", "to"].map((name) => h("label", {}, `${name} `, h("input", { type: "text", inputmode: "decimal", id: `${name}-${id}`, "data-focus": `${name} ${id}`, autocomplete: "off", onchange: typed })))),
      h("p", { class: "quiet range" }, "Leave \"to\" empty for one number. Below 0: the first side is shorter.")),
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
  form.querySelectorAll("input[type=radio]").forEach((radio) => { radio.checked = radio.value === kind; });
  form.showKind(kind);
  if (span) {
    set($(`from-${id}`), figure(span[0]));
    set($(`to-${id}`), span[0] === span[1] ? "" : figure(span[1]));
  }
  const [one, two] = seam.sides.map((side) => sideEnds(data, side));
  form.querySelector(".ends").textContent = isTwin(seam)
    ? "Each end meets the same end again." : `A: ${one[0]} meets ${two[0]}. B: ${one[1]} meets ${two[1]}.`;
  const lengths = lengthsOf(seam);
  const shape = Math.abs(lengths.difference) < 0.005 ? "the same" : `the first is ${lengths.difference > 0 ? "longer" : "shorter"} by ${mm(Math.abs(lengths.difference))}`;
  form.querySelector(".lengths").textContent = isTwin(seam)
    ? `${mm(lengths.first)}.` : `${lengths.told}: ${shape}, ratio ${(lengths.first / lengths.second).toFixed(3)}.`;
}

/* --- the whole plan --------------------------------------------------------------------------------------------- */

function save() {
  const link = h("a", { href: URL.createObjectURL(new Blob([textOf(state)], { type: "text/plain" })), download: data.file });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  say(`The plan is saved as ${data.file}. Put it beside the pattern.`);
}

async function copy() {
  let done = false;
  try {
    await navigator.clipboard.writeText(textOf(state));
    done = true;
  } catch {
    $("plan").select();
    done = document.execCommand("copy");
  }
  say(done ? "The plan is copied." : "The browser does not let this page copy; select the text of the plan and copy it by hand.", !done);
}

async function open(event) {
  const file = event.target.files[0];
  event.target.value = "";
  if (!file) return;
  const text = (await file.text()).replace(/^\ufeff/, "");
  apply(() => opened(data, text));
}

document.addEventListener("pointerdown", () => { pressing = true; }, true);
for (const kind of ["pointerup", "pointercancel"]) {
  document.addEventListener(kind, () => { pressing = false; setTimeout(() => { if (waiting) render(); }); }, true);
}
$("sheet").addEventListener("click", (event) => {
  const option = event.target.closest("[data-edge]");
  if (option) chooseEdge(option.dataset.edge);
});
$("sheet").addEventListener("keydown", keysInPicture);
$("sheet").addEventListener("focusin", (event) => {
  const option = event.target.closest("[data-edge]");
  if (option) { focus = option.dataset.edge; options.forEach((one) => one.setAttribute("tabindex", one === option ? "0" : "-1")); }
});
document.addEventListener("keydown", (event) => {
  const typing = event.target.matches("input[type=text], textarea");
  if (event.key === "Escape") letGo();
  else if ((event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "z" && !(typing && !event.target.readOnly)) {
    event.preventDefault();
    if (event.shiftKey) travel(future, past, "do again");
    else travel(past, future, "undo");
  }
});
$("undo").addEventListener("click", () => travel(past, future, "undo"));
$("redo").addEventListener("click", () => travel(future, past, "do again"));
$("save").addEventListener("click", save);
$("copy").addEventListener("click", copy);
$("open").addEventListener("change", open);
$("anew").addEventListener("click", () => apply(() => ({ state: stateOf(data.text, data.numbers), chosen: null, said: "The plan is again as it was proposed. Undo brings your changes back." })));
$("smaller").addEventListener("click", () => zoomBy(1 / 1.25));
$("larger").addEventListener("click", () => zoomBy(1.25));
$("whole").addEventListener("click", () => { zoom = Math.min(($("pane").clientWidth - 22) / data.width, (window.innerHeight - 130) / data.height); setZoom(); });
window.addEventListener("resize", setZoom);
$("lost").textContent = data.lost.length ? `The plan names edges that were not found in the drawing: ${data.lost.join(", ")}.` : "";
focus = options[0]?.dataset.edge ?? null;
recall();
render();
setZoom();
