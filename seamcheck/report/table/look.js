// The verdict and its causes, what changed since the last save, sizes, and finding a name.

let cause = null; // the number of the cause that is looked at

function causesNow() {
  return data.verdict?.causes ?? [];
}

function drawLook() {
  drawChoices($("size"), data.sizes ?? [], data.size);
  $("size-box").hidden = data.host !== "server" || (data.sizes ?? []).length < 2;
  if (data.host !== "server") return;
  const verdict = data.verdict;
  $("verdict").className = verdict?.kind ?? "note";
  $("verdict").textContent = verdict ? verdict.said : "Nothing is judged yet.";
  $("trouble").hidden = !data.trouble;
  $("trouble").textContent = data.trouble ? `${data.trouble} What is shown is the last that could be read.` : "";
  if (cause !== null && !causesNow().some((one) => one.number === cause)) cause = null;
  reconcile($("causes"), causesNow().map((one) => ({ key: `${one.number} ${one.title}`, signature: JSON.stringify([one, cause === one.number, data.size]), build: () => causeRow(one) })));
  $("no-causes").hidden = causesNow().length > 0 || !verdict;
  $("looked").textContent = verdict?.looked ?? "";
  const changed = data.changed ?? [];
  $("changed-box").hidden = !changed.length;
  reconcile($("changed"), changed.map((key) => ({ key, signature: key, build: () => h("li", {}, button(key, `changed ${key}`, () => { lit = [key]; showEdges([key]); drawEdges(); })) })));
  const files = filesNow();
  drawChoices($("file"), [...files.keys()], String(data.number), (number) => `${files.get(number)}${isThere(number) ? "" : " (gone)"}`);
  $("file-box").hidden = files.size < 2;
}

/* The patterns that may be laid on the table, by their numbers; the one that lies there stays until another takes its place. */
function filesNow() {
  const files = new Map((data.files ?? []).map(([number, name]) => [String(number), name])), own = String(data.number);
  if (!files.has(own)) files.set(own, data.own);
  return files;
}

function isThere(number) {
  return data.files.some(([other]) => String(other) === number);
}

/* Patterns came into the folder that is watched, or have gone. */
function takeUp(files) {
  const before = filesNow(), was = [...before.keys()].filter(isThere);
  data = { ...data, files, own: before.get(String(data.number)) };
  const now = filesNow(), named = (numbers, from) => numbers.map((number) => from.get(number)).join(", ");
  const fresh = [...now.keys()].filter((number) => isThere(number) && !was.includes(number)), gone = was.filter((number) => !isThere(number));
  const told = [fresh.length ? `New in the folder: ${named(fresh, now)}.` : "", gone.length ? `Gone from it: ${named(gone, before)}.` : ""];
  if (fresh.length || gone.length) say(told.filter(Boolean).join(" "));
  render();
}

function drawChoices(select, values, now, told = (value) => value) {
  const signature = JSON.stringify([values, values.map(told)]);
  if (select.signature !== signature) {
    select.replaceChildren(...values.map((value) => h("option", { value }, told(value))));
    select.signature = signature;
  }
  select.value = now;
}

function causeRow(one) {
  const open = cause === one.number, elsewhere = one.size && data.sizes.length > 1 && one.size !== data.size;
  return h("li", { class: `cause ${one.severity}${open ? " chosen" : ""}` },
    button(`${one.number}. ${one.title}`, `cause ${one.number}`, () => chooseCause(one.number), { class: "name", "aria-expanded": String(open) }),
    h("p", { class: "quiet" }, `${one.severity}${elsewhere ? `, in size ${one.size}` : ""}`),
    open ? h("div", {},
      h("p", {}, one.message), one.why ? h("p", {}, h("b", {}, "Why: "), one.why) : null,
      one.steps.length ? h("div", {}, h("b", {}, "Do:"), h("ol", {}, ...one.steps.map((step) => h("li", {}, step)))) : null,
      one.signs.length ? h("div", {}, h("b", {}, "Comes of the same:"), h("ul", {}, ...one.signs.map((sign) => h("li", {}, sign)))) : null,
      h("div", { class: "small" }, button("Show new lines", `true ${one.number}`, () => setTool("true"))),
      acceptForm(one)) : null);
}

function acceptForm(one) {
  const why = h("input", { type: "text", class: "wide-field", autocomplete: "off", "data-focus": `why ${one.number}` });
  return h("details", {}, h("summary", {}, "It is right as it is"), h("label", { class: "line-of" }, "Why ", why),
    h("div", { class: "small" }, button("Accept it", `accept ${one.number}`, () => { if (apply(() => accepted(state, one.accept, why.value))) why.value = ""; })));
}

/* Look at a cause: the picture goes there, in the size that it is told in. */
async function chooseCause(number) {
  const one = causesNow().find((other) => other.number === number);
  if (!one) return;
  cause = cause === number ? null : number;
  lit = cause === null ? null : one.edges;
  if (tool !== "look") { tool = "look"; choose(null); }
  if (cause !== null && one.size && data.sizes.includes(one.size) && one.size !== data.size) await changeSize(one.size);
  render();
  if (cause === null) return;
  const here = causesNow().find((other) => other.number === number) ?? one, box = boxOf(here.edges);
  if (here.at) goTo([here.at[0] - 22, here.at[1] - 16, here.at[0] + 22, here.at[1] + 16], 3);
  else if (box) goTo(box);
}

/* The marks of what was found: a numbered ring where it lies, the stretch that differs, the new line of the recipe. */
function drawFound() {
  if (data.host !== "server" || tool !== "look") { $("found").replaceChildren(); return; }
  const size = plateSize(), marks = [];
  for (const one of causesNow()) {
    if (!one.at) continue;
    if (cause === one.number) {
      if (one.stretch) marks.push(h("path", { class: `stretch ${one.severity}`, d: one.stretch }));
      if (one.ought) marks.push(h("g", { class: "over" }, h("path", { class: "ought", d: one.ought })));
    }
    marks.push(h("g", { class: `ring ${one.severity}${cause === one.number ? " chosen" : ""}`, "data-cause": one.number, transform: `translate(${one.at[0]} ${one.at[1]}) scale(${size})` },
      h("circle", { r: 3.1 }), h("text", { y: 1.15, "font-size": 3.2 }, `${one.number}`)));
  }
  $("found").replaceChildren(...marks);
}

async function changeSize(size) {
  do await host.rest(); while (!arrived(await host.state(size)));
  refreshIfTold();
}

async function changeFile(number) {
  await host.rest();
  const fresh = await host.state(undefined, number);
  if (host.busy) {
    drawLook();
    return say("The plan is being written; choose again in a moment.", true);
  }
  host.moveTo(number);
  isWhole = true;
  cause = lit = null;
  past = [];
  future = [];
  choose(null);
  version = newest = fresh.version;
  arrived(fresh);
  return say(`${filesNow().get(String(number))} lies on the table.`);
}

/* Find edges, corners, pieces and seams by a part of their names. */
function search(typed) {
  const wanted = typed.trim().toLowerCase(), found = $("found-names");
  if (!wanted) { lit = null; drawEdges(); return found.replaceChildren(); }
  const has = (name) => name.toLowerCase().includes(wanted), rows = [];
  for (const seam of state.seams.filter((one) => has(one.name))) rows.push([`seam ${seam.id}, ${seam.name}`, seam.sides.flat().map((use) => use.edge)]);
  for (const name of Object.keys(data.pieces).filter(has)) rows.push([`piece ${name}`, data.order.filter((key) => keyParts(key)[0] === name)]);
  for (const key of data.order.filter(has)) rows.push([key, [key]]);
  for (const key of data.order) for (const end of [data.edges[key].start, data.edges[key].end]) if (has(end)) rows.push([`corner ${end} of ${keyParts(key)[0]}`, [key]]);
  const told = rows.filter(([name], i) => rows.findIndex(([other]) => other === name) === i).slice(0, 12);
  lit = told[0]?.[1] ?? null;
  drawEdges();
  return found.replaceChildren(...(told.length ? told : [["Nothing has that name.", null]]).map(([name, keys]) => h("li", {},
    keys ? button(name, `found ${name}`, () => { lit = keys; drawEdges(); showEdges(keys); if (keys.length === 1) moveFocus(keys[0]); }) : name)));
}
