// Listens to hands and to the host, and shows all for the first time.

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
    $("plan-box").open = true;
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

function recall() {
  let kept = null;
  try {
    kept = host.recall();
  } catch {
    say("What was kept of the last visit cannot be read; the plan is as it was proposed.", true);
    return;
  }
  if (kept === null) return;
  state = kept;
  say("Your last changes are here again. Start over brings back what was proposed.");
}

/* --- the server ------------------------------------------------------------------------------------------------- */

function listenToServer() {
  host.onnews = (news) => {
    if (news.number === data.number) newest = Math.max(newest, news.version);
    refreshIfTold();
  };
  host.onfiles = takeUp;
  host.onsilence = (silent) => { $("silence").hidden = !silent; };
  host.ontrouble = (error) => {
    if (!(error instanceof Refusal)) { $("silence").hidden = false; return; }
    // A plan that is not taken is not kept here either.
    const step = past.pop();
    if (step) ({ state } = step);
    choose(null);
    did = null;
    say(error.message, true);
    render();
    refreshIfTold();
  };
  host.onsolved = (answer) => {
    version = Math.max(version, answer.version);
    data = { ...data, question: answer.question, text: textOf(state), base: answer.base };
    state = withProposals(state, answer.proposals);
    $("kept").textContent = `Written to ${data.file}.`;
    render();
    refreshIfTold();
  };
  host.onconflict = (answer, mine) => {
    $("choice").hidden = false;
    $("choice-theirs").textContent = answer.text;
    $("take-theirs").onclick = () => { $("choice").hidden = true; refresh(); };
    $("keep-mine").onclick = () => { $("choice").hidden = true; host.overwrite(mine, answer.base); };
    $("choice-title").focus();
    say("The plan file was changed elsewhere meanwhile. Choose which one stays.", true);
  };
  host.listen();
}

/* --- hands ------------------------------------------------------------------------------------------------------ */

document.addEventListener("pointerdown", () => { pressing = true; }, true);
for (const kind of ["pointerup", "pointercancel"]) {
  document.addEventListener(kind, (event) => { pressing = false; fingerUp(event); setTimeout(() => { if (waiting) render(); }); }, true);
}
const sheet = $("sheet");
sheet.addEventListener("pointerdown", fingerDown);
sheet.addEventListener("pointermove", fingerMoved);
sheet.addEventListener("pointerleave", () => pointAt(null));
sheet.addEventListener("click", clicked);
sheet.addEventListener("wheel", (event) => {
  event.preventDefault();
  zoomBy(Math.exp(-event.deltaY * (event.deltaMode ? 0.03 : 0.0016)), { x: event.clientX, y: event.clientY });
}, { passive: false });
sheet.addEventListener("keydown", keysInPicture);
sheet.addEventListener("focusin", (event) => {
  const option = event.target.closest("[data-edge]");
  if (!option) return;
  focus = option.dataset.edge;
  options.forEach((one) => one.setAttribute("tabindex", one === option ? "0" : "-1"));
  tellReadout();
});
document.addEventListener("keydown", (event) => {
  const typing = event.target.matches("input[type=text], input[type=search], textarea");
  if (event.key === "Escape") letGo();
  else if ((event.ctrlKey || event.metaKey) && !event.altKey && ["z", "y"].includes(event.key.toLowerCase()) && !(typing && !event.target.readOnly)) {
    event.preventDefault();
    if (event.shiftKey || event.key.toLowerCase() === "y") redo();
    else undo();
  }
});
const press = (id, act) => $(id).addEventListener("click", act);
press("undo", undo);
press("redo", redo);
press("save", save);
press("copy", copy);
$("open").addEventListener("change", open);
press("anew", () => apply(() => ({ state: stateOf(data.text, data.numbers), chosen: null, said: "The plan is again as it was proposed. Undo brings your changes back." })));
press("smaller", () => zoomBy(0.8));
press("larger", () => zoomBy(1.25));
press("whole", () => show(wholeView(), true));
press("yes-all", () => apply(() => allConfirmed(state, LIKELY)));
press("rest-free", () => apply(() => allFree(state, openEdges())));
press("take-all", takeAll);
press("take-back", takeBack);
press("write-altered", writeAltered);
$("which-box").addEventListener("toggle", () => { if ($("which-box").open) askWhich(); });
document.querySelectorAll("#tools-nav button").forEach((one) => one.addEventListener("click", () => setTool(one.dataset.tool)));
$("size").addEventListener("change", (event) => changeSize(event.target.value));
$("file").addEventListener("change", (event) => changeFile(Number(event.target.value)));
$("search").addEventListener("input", (event) => search(event.target.value));
new ResizeObserver(() => fit()).observe($("pane"));
drawTable();
if (data.host === "server") listenToServer();
else recall();
render();
host.keep(state, false);
