// A fit rehearsed: the amount is moved, the pieces and what their mates would need move with it; then it is written beside the original.

let fits = null; // what the server knows, null before it was asked
let wished = null; // {name, piece, amount}
let rehearsal = null, rehearsing = false, again = null;

async function openAltering() {
  try {
    ({ fits } = await host.fits(data.size));
    if (fits.length && !fits.some((one) => one.name === wished?.name)) wished = { name: fits[0].name, piece: fits[0].pieces[0], amount: fits[0].first };
    $("altering-said").textContent = fits.length ? "" : "No fit that is known is for a piece of this pattern.";
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    [fits, rehearsal] = [[], null];
    $("altering-said").textContent = error.message;
  }
  render();
  if (fits.length) rehearse(true);
  if (fits.length && $("which-box").open) askWhich();
}

function fitNow() {
  return fits?.find((one) => one.name === wished?.name) ?? null;
}

function drawAltering() {
  if (data.host !== "server" || tool !== "alter") return;
  const one = fitNow(), items = [];
  if (one) items.push({ key: "fit", signature: JSON.stringify([fits, wished.name, wished.piece]), build: () => fitForm(one) });
  reconcile($("fit"), items);
  drawWhich();
  $("rehearsal").replaceChildren(...(one && rehearsal ? toldOfRehearsal() : []));
  $("write-altered").hidden = !one || !rehearsal;
  if (one) {
    $("amount-told").textContent = `${both(Math.abs(wished.amount))}${wished.amount < 0 && one.minus ? `: ${one.minus}` : ""}`;
    if (document.activeElement !== $("fit-amount")) $("fit-amount").value = String(wished.amount);
  }
  const parts = [];
  for (const d of rehearsal?.old ?? []) parts.push(h("path", { class: "old", d }));
  for (const d of rehearsal?.new ?? []) parts.push(h("path", { class: "ought", d }));
  for (const d of rehearsal?.cuts ?? []) parts.push(h("path", { class: "slash", d }));
  $("over").replaceChildren(...parts);
}

function fitForm(one) {
  const choose_ = (label, key, values, now, told, act) => h("label", { class: "line-of" }, `${label} `, h("select", { "data-focus": key, class: "wide-field", onchange: (event) => act(event.target.value) },
    ...values.map((value) => h("option", { value, selected: value === now }, told(value)))));
  return h("div", {},
    choose_("What is done", "fit name", fits.map((other) => other.name), wished.name, (name) => fits.find((other) => other.name === name).title, (name) => {
      const other = fits.find((known) => known.name === name);
      wished = { name, piece: other.pieces[0], amount: other.first };
      rehearse(true);
    }),
    choose_("On which piece", "fit piece", one.pieces, wished.piece, (name) => name, (piece) => { wished = { ...wished, piece }; rehearse(true); }),
    h("details", {}, h("summary", {}, "What is seen where it is needed"), h("ul", {}, ...one.seen.map((sign) => h("li", {}, sign)))),
    h("label", { class: "line-of" }, `How much${one.amount ? `: ${one.amount}` : ""} `,
      h("input", {
        type: "range", id: "fit-amount", "data-focus": "fit amount", class: "wide-field", min: one.least, max: one.most, step: one.step, value: wished.amount,
        oninput: (event) => { wished = { ...wished, amount: Number(event.target.value) }; rehearse(false); },
        onchange: () => rehearse(true),
      })),
    h("p", {}, h("b", { id: "amount-told" })));
}

function toldOfRehearsal() {
  const most = Math.max(1, ...rehearsal.seams.map((seam) => Math.abs(seam.off)));
  const bar = (seam) => h("span", { class: "bar" }, h("span", { class: Math.abs(seam.off) > seam.tolerance / 2 ? "bar-off" : "bar-in", style: `width:${((100 * Math.abs(seam.off)) / most).toFixed(1)}%` }));
  const list = (title, told) => (told.length ? [h("h3", {}, title), h("ul", {}, ...told.map((one) => h("li", {}, one)))] : []);
  return [
    h("h3", {}, "What its mates would need"),
    rehearsal.seams.length ? h("ul", { class: "mates" }, ...rehearsal.seams.map((seam) => h("li", { "data-seam-of": seam.seam }, bar(seam), seam.told))) : h("p", {}, "No seam changes."),
    ...list("Beyond sense", rehearsal.warnings), ...list("What changes", rehearsal.lengths),
    ...(rehearsal.whole ? list("Left to put right when it is carried out", rehearsal.left) : []),
  ];
}

/* Ask for what the amount does; while one answer is awaited, only the last further wish is kept. */
async function rehearse(whole) {
  drawAltering();
  if (rehearsing) { again = { whole }; return; }
  rehearsing = true;
  try {
    rehearsal = await host.rehearse({ ...wished, fit: wished.name, size: data.size, whole });
    $("altering-said").textContent = "";
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    rehearsal = null;
    $("altering-said").textContent = error.message;
  } finally {
    rehearsing = false;
  }
  const next = again;
  again = null;
  render();
  if (next) rehearse(next.whole);
}

async function writeAltered() {
  try {
    const { written } = await host.alter({ ...wished, fit: wished.name, size: data.size });
    say(`Written: ${written.join(", ")}.`);
    $("altering-said").textContent = `Written: ${written.join(", ")}. The pattern on the table is as it was; look at the new one with: seamcheck watch ${written[0]}`;
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    say(error.message, true);
  }
}
