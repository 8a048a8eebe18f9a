// Lines drawn anew: each proposal over the pattern before it is taken, with how far it strays and what follows; and taken back.

let truing = null; // what the server proposes, null while nothing is known
let shownWay = null; // {finding, letter}: the proposal that is drawn
let asking = false;

async function openTruing() {
  if (asking) return;
  asking = true;
  let isSame = false;
  drawTruing();
  try {
    isSame = takeProposals(await host.truing(data.size));
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    truing = { proposals: [], taken: [], said: error.message };
  } finally {
    asking = false;
  }
  render();
  if (!isSame) showWay();
}

/* Other proposals in the stead of those that were there; whether the one that is looked at is among them, and is looked at still. */
function takeProposals(told) {
  const keyOf = (one, letter) => `${one.title.split(",")[0]}: ${letter}`, before = truing?.proposals[shownWay?.finding], looked = before && keyOf(before, shownWay.letter);
  const ways = told.proposals.flatMap((one, finding) => one.ways.map(({ letter }) => ({ finding, letter, key: keyOf(one, letter) })));
  const same = ways.find(({ key }) => key === looked);
  [truing, shownWay] = [told, same ?? ways[0] ?? null];
  return Boolean(same);
}

function drawTruing() {
  if (data.host !== "server" || tool !== "true") { if (tool !== "alter") $("over").replaceChildren(); return; }
  $("truing-said").textContent = asking ? "New lines are tried and judged ..." : truing?.said ?? "";
  const proposals = truing?.proposals ?? [];
  reconcile($("truing"), proposals.map((one, i) => ({ key: `${i}`, signature: JSON.stringify([one, shownWay]), build: () => proposalRow(one, i) })));
  $("take-all").hidden = proposals.length < 1;
  const taken = truing?.taken ?? [], left = truing?.left ?? [];
  $("take-back").hidden = !taken.length && !left.length;
  $("taken").textContent = [taken.length ? `Written to ${truing.written}: ${taken.join("; ")}.` : "", ...left].filter(Boolean).join(" ");
  drawOver();
}

function proposalRow(one, i) {
  return h("li", { class: `cause ${one.severity}` }, h("p", {}, h("b", {}, one.title)), h("p", { class: "quiet" }, one.message),
    h("ol", { class: "options" }, ...one.ways.map((way) => {
      const shown = shownWay?.finding === i && shownWay.letter === way.letter;
      return h("li", { class: shown ? "chosen" : null },
        button(`${way.letter}. ${way.what}`, `way ${i} ${way.letter}`, () => { shownWay = { finding: i, letter: way.letter }; render(); showWay(); }, { class: "option", "aria-pressed": String(shown) }),
        h("p", { class: "quiet" }, `${way.strays}${way.followers.length ? ` ${way.followers.join(" and ")} follows.` : ""}`),
        shown ? h("div", { class: "small" }, button("Take this", `take ${i} ${way.letter}`, () => takeWay(one.finding, way.letter))) : null);
    })));
}

function wayNow() {
  const one = truing?.proposals[shownWay?.finding];
  return one?.ways.find((way) => way.letter === shownWay.letter) ?? null;
}

function drawOver() {
  const way = wayNow(), parts = [];
  for (const d of truing?.old ?? []) parts.push(h("path", { class: "old", d }));
  for (const d of truing?.now ?? []) parts.push(h("path", { class: "edge", d }));
  if (way) {
    for (const d of way.lines) parts.push(h("path", { class: "ought", d }));
    // The amounts stand one below the other: the places are often one corner.
    way.marks.forEach(([x, y, label], i) => parts.push(h("circle", { class: "spot", cx: x, cy: y, r: 1 }), h("text", { x: x + 9 / scale, y: y + (15 * i - 9) / scale, "font-size": 3 }, label)));
  }
  $("over").replaceChildren(...parts);
}

function showWay() {
  const box = wayNow()?.box;
  if (box) goTo(box, 6);
}

async function changedBy(act) {
  let isSame = false;
  try {
    isSame = takeProposals(await act());
    say(truing.did);
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    say(error.message, true);
  }
  render();
  if (!isSame) showWay();
}

function takeWay(finding, letter) { return changedBy(() => host.take(data.size, finding, letter)); }
function takeAll() { return changedBy(() => host.takeAll(data.size)); }
function takeBack() { return changedBy(() => host.takeBack(data.size)); }
