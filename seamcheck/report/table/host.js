// Where the plan goes, and where news come from: a file in this browser, or the server of `seamcheck watch`.

/* A host has `keep(state)`, `mates(edge)`, which may give null, and `rereads`: whether the drawing is read anew by another plan. */

function fileHost(data) {
  const store = `seamcheck pairing 2 ${data.key}`; // 2: how a state is kept
  const nothing = "This browser keeps nothing for pages that are opened from a file. Save the plan; it can be opened here again.";
  return {
    rereads: false,
    keep(state, changed) {
      try {
        if (changed || localStorage.getItem(store)) localStorage.setItem(store, stored(state));
      } catch {
        $("kept").textContent = nothing;
      }
    },
    /* What was done on the last visit, null where that was nothing; an error where it cannot be read. */
    recall() {
      let kept = null;
      try {
        kept = localStorage.getItem(store);
      } catch {
        $("kept").textContent = nothing;
      }
      return kept === null ? null : restored(kept);
    },
    async mates() {
      return null;
    },
  };
}

function serverHost(data) {
  let base = data.base, seen = data.text, sending = null, waiting = null;
  const query = (more) => new URLSearchParams({ file: data.number, ...more }).toString();
  const told = async (answer) => {
    const body = await answer.json();
    if (!answer.ok && answer.status !== 409) throw new Refusal(body.said ?? "The server does not answer as it should.");
    return { ...body, status: answer.status };
  };
  const ask = async (what, more = {}) => told(await fetch(`${what}?${query(more)}`, { cache: "no-store" }));
  const send = async (what, body) => told(await fetch(`${what}?${query({})}`, {
    method: "POST", cache: "no-store", headers: { "content-type": "application/json" }, body: JSON.stringify(body),
  }));

  async function post(state, forced) {
    const text = textOf(state);
    const answer = await send("plan", { base: forced ?? base, text, refused: state.refused, unknown: state.unknown, aside: forced !== undefined });
    if (answer.status === 409) return host.onconflict(answer, state);
    [base, seen] = [answer.base, text];
    host.onsolved(answer);
  }

  /* One after the other, and of those that wait the last alone. */
  async function drain(state, forced) {
    if (sending) { waiting = state; return sending; }
    sending = post(state, forced).catch((error) => host.ontrouble(error)).finally(() => {
      sending = null;
      const next = waiting;
      waiting = null;
      if (next) drain(next);
    });
    return sending;
  }

  const host = {
    rereads: true,
    get busy() { return sending !== null || waiting !== null; },
    /* Until the plan is written. */
    async rest() { while (host.busy) await sending; },
    keep(state, changed) { if (changed) drain(state); },
    recall() { return null; },
    overwrite(state, other) { return drain(state, other); },
    /* Whether a text is another than the page knows of; from then on it knows of it. */
    isNews(fresh) {
      const news = fresh.text !== seen;
      [base, seen] = [fresh.base, fresh.text];
      return news;
    },
    async mates(edge) { return (await ask("mates", { edge })).mates; },
    state(size, file) { return ask("state", { ...(size ? { size } : {}), ...(file === undefined ? {} : { file }) }); },
    truing(size) { return ask("truing", { size }); },
    take(size, finding, letter) { return send("take", { size, finding, letter }); },
    takeAll(size) { return send("take", { size, all: true }); },
    takeBack(size) { return send("back", { size }); },
    fits(size) { return ask("fits", { size }); },
    which(size, answers, asked) { return send("which", { size, answers, asked }); },
    rehearse(wish) { return send("rehearse", wish); },
    alter(wish) { return send("alter", wish); },
    listen() {
      const news = new EventSource("news");
      news.addEventListener("news", (event) => host.onnews(JSON.parse(event.data)));
      news.addEventListener("files", (event) => host.onfiles(JSON.parse(event.data).files));
      news.addEventListener("error", () => host.onsilence(true));
      news.addEventListener("open", () => host.onsilence(false));
    },
    moveTo(number) { data = { ...data, number }; },
  };
  return host;
}
