// Which fit it is: what is seen in the cloth is asked, one question at a time, and the fits are ranked by it, each with how to rule it in or out.

const OTHERS = 2; // fits that are told beside the likeliest
let seen = {}; // the answers so far, by their questions; "?" where somebody does not know
let guide = null; // what the server says of them, null before it was asked
let wanted = 0; // the last question to the server, whose answer alone is shown

/* Ask what follows from what was seen, and which question is next; `again` is one that is asked once more. */
async function askWhich(again = "") {
  wanted += 1;
  const mine = wanted;
  let told;
  try {
    told = await host.which(data.size, seen, again);
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    if (Object.keys(seen).length) { seen = {}; return askWhich(); } // another pattern may have other questions
    told = null;
    say(error.message, true);
  }
  if (mine !== wanted) return undefined;
  guide = told;
  return render();
}

/* What was asked is gone once it is answered: the keys, and what is read out, go on to what is asked next. */
async function goOn(again) {
  const within = $("which").contains(document.activeElement);
  await askWhich(again);
  if (within) $("which").querySelector("h3")?.focus();
}

function answered(question, answer) {
  seen = { ...seen, [question]: answer };
  return goOn();
}

function heading(text) {
  return h("h3", { tabindex: "-1" }, text);
}

function drawWhich() {
  $("which-box").hidden = !fits?.length;
  const items = [], part = (key, build, ...by) => items.push({ key, signature: JSON.stringify(by), build });
  if (guide) {
    const question = guide.questions.find((one) => one.name === guide.asked);
    if (question) part(`asked ${question.name}`, () => questionCard(question), question);
    if (Object.keys(guide.answers).length) {
      part("seen", seenCard, guide.answers);
      part("ranked", rankedCard, guide.answers, guide.fits);
    }
    part("cautions", () => h("div", {}, ...guide.cautions.map((one) => h("p", { class: "quiet" }, one))));
  }
  reconcile($("which"), items);
}

function questionCard(question) {
  const option = (answer) => h("li", {}, h("button", { type: "button", class: "option", "data-focus": `seen ${answer.name}`, onclick: () => answered(question.name, answer.name) },
    figureOf(guide.drawn[answer.name]), h("span", {}, answer.words)));
  const isDrawn = question.answers.some((answer) => answer.drawn);
  return h("div", {}, heading(question.asks),
    h("ol", { class: `options${isDrawn ? " drawn" : ""}` }, ...question.answers.map(option)),
    h("div", { class: "small" }, button("I do not know", "seen ?", () => answered(question.name, "?"))));
}

/* A drawing as the server wrote it. The words beside it say the same. */
function figureOf(text) {
  if (!text) return null;
  const made = new DOMParser().parseFromString(text.replace("<svg ", `<svg xmlns="${SVG}" `), "image/svg+xml").documentElement;
  const figure = document.importNode(made, true);
  figure.setAttribute("aria-hidden", "true");
  return figure;
}

function seenCard() {
  const rows = Object.entries(guide.answers).map(([name, answer]) => {
    const question = guide.questions.find((one) => one.name === name), words = question.answers.find((one) => one.name === answer)?.words ?? "not known";
    return h("li", {}, h("span", { class: "quiet" }, question.asks), " ", h("b", {}, words), " ", button("Change", `again ${name}`, () => goOn(name), { "aria-label": `Change: ${question.asks}` }));
  });
  return h("div", {}, heading("What you saw"), h("ul", { class: "seen" }, ...rows),
    h("div", { class: "small" }, button("Begin anew", "seen anew", () => { seen = {}; goOn(); })));
}

function rankedCard() {
  const byName = new Map(guide.fits.map((one) => [one.name, one])), likeliest = guide.likeliest.map((name) => byName.get(name));
  const others = guide.fits.filter((one) => one.ruled_out === null && one.points > 0 && !likeliest.includes(one)).slice(0, OTHERS);
  const out = guide.fits.filter((one) => one.ruled_out !== null);
  if (!likeliest.length) {
    const known = Object.values(guide.answers).some((answer) => answer !== "?");
    return h("p", {}, known ? "What you saw speaks for none of the fits: look again, or look at another place first." : "Nothing is known yet that speaks for a fit.");
  }
  return h("div", {},
    heading(likeliest.length > 1 ? "As likely as one another" : "Likeliest"), h("ul", { class: "rank" }, ...likeliest.map((one) => fitCard(one, likeliest[0]))),
    others.length ? h("div", {}, h("h3", {}, "Or"), h("ul", { class: "rank" }, ...others.map((one) => fitCard(one, likeliest[0])))) : null,
    out.length ? h("details", {}, h("summary", {}, `Ruled out: ${out.length}`), h("ul", {}, ...out.map((one) => h("li", {}, h("b", {}, one.title), `: ${one.ruled_out}`)))) : null);
}

/* A fit with what speaks for it and against it, and how it is told from the likeliest. */
function fitCard(one, first) {
  const whys = (reasons) => [...new Set(reasons.map((reason) => reason.why))].join("; "), fit = fits.find((other) => other.name === one.name);
  const look = one.look_again[0], question = look && guide.questions.find((other) => other.name === look.question), wordsOf = (name) => question.answers.find((answer) => answer.name === name).words;
  return h("li", {}, h("b", {}, one.title),
    one.minus && fit ? h("p", {}, `With less instead of more it ${fit.minus}.`) : null,
    one.for.length ? h("p", {}, `For it: ${whys(one.for)}.`) : null, one.against.length ? h("p", {}, `Against it: ${whys(one.against)}.`) : null,
    one.tell ? h("p", {}, `To tell them: ${one.tell}.`) : null,
    question ? h("div", {}, h("p", {}, `Look again. ${question.asks}`), h("ul", {}, h("li", {}, `${wordsOf(look.this)}: ${one.title}`), h("li", {}, `${wordsOf(look.first)}: ${first.title}`))) : null,
    h("div", { class: "small" }, button("Rehearse it", `rehearse ${one.name}`, () => rehearseFit(one), { "aria-label": `Rehearse it: ${one.title}` }),
      question ? button("Answer that", `look ${one.name}`, () => goOn(question.name), { "aria-label": `Answer: ${question.asks}` }) : null));
}

function rehearseFit(one) {
  const fit = fits.find((other) => other.name === one.name);
  wished = { name: fit.name, piece: fit.pieces[0], amount: one.minus ? -fit.first : fit.first };
  say(`${fit.title} is rehearsed: nothing is written before you say so.`);
  rehearse(true);
  $("fit").querySelector("select").focus();
}
