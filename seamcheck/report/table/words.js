// How lengths, sides and seams are said, and what speaks against sewing two sides together.

const GATHERED = 1.15; // one side is so many times as long as the other, and more than ease could take
const ACROSS = 50; // degrees by which the two may lie otherwise to the grain

function mm(value) {
  if (Number.isNaN(value)) return "unknown length";
  const size = Math.abs(value);
  return size >= 99.95 ? `${value.toFixed(0)} mm` : size < 0.995 ? `${value.toFixed(2)} mm` : `${value.toFixed(1)} mm`;
}

/* The nearest 1/16 inch, or 1/32 below 1/8 in. */
function inches(value) {
  const size = Math.abs(value) / 25.4, parts = Math.round(size * 32) < 4 ? 32 : 16;
  let steps = Math.round(size * parts), under = parts;
  if (!steps) return value ? "under 1/32 in" : "0 in";
  const whole = Math.floor(steps / parts);
  steps %= parts;
  while (steps && steps % 2 === 0) { steps /= 2; under /= 2; }
  return [whole || null, steps ? `${steps}/${under}` : null].filter((one) => one !== null).join(" ") + " in";
}

function both(value) {
  return Number.isNaN(value) ? mm(value) : `${mm(value)} (${inches(value)})`;
}

function counted(number, one) {
  return `${number} ${one}${number === 1 ? "" : "s"}`;
}

function sideText(side) {
  const told = [];
  for (const use of side) {
    const last = told[told.length - 1];
    if (last && last.edge === use.edge && last.back === use.back) last.times += 1;
    else told.push({ ...use, times: 1 });
  }
  return told.map((one) => `${one.times > 1 ? `${one.times} × ` : ""}${one.back ? "-" : ""}${one.edge}`).join(" + ");
}

/* What an edge meets that is sewn to itself, by how its piece is cut. */
function twinOf(state, key) {
  const { cut } = state.pieces[keyParts(key)[0]] ?? {};
  if (cut === "pair" || cut === "fold") return "its mirror twin";
  return cut === "one" || cut === 1 ? "itself" : "the same edge of another copy";
}

function sewnText(state, seam) {
  return isTwin(seam) ? `${seam.sides[0][0].edge} to ${twinOf(state, seam.sides[0][0].edge)}` : `${sideText(seam.sides[0])} to ${sideText(seam.sides[1])}`;
}

/* How the lengths of a seam stand to what is allowed. */
function lengthsOf(data, seam) {
  const [first, second] = seam.sides.map((side) => sideLength(data, side));
  const difference = first - second, unit = data.unit;
  let [least, most] = [0, 0];
  if (seam.ease) [least, most] = seam.ease.map((one) => one * unit);
  if (seam.ratio) [least, most] = seam.ratio.map((one) => (one - 1) * second);
  const beyond = Math.max(0, difference - most, least - difference);
  const told = isTwin(seam) ? mm(first) : `${mm(first)} and ${mm(second)}`;
  const tolerance = (seam.tolerance === null ? data.tolerance : seam.tolerance) * unit;
  return { told, first, second, difference, off: beyond > tolerance / 2, beyond };
}

function differenceText(first, second) {
  const off = first - second;
  if (Number.isNaN(off)) return "unknown length";
  return Math.abs(off) < 0.005 ? "as long as each other" : `the first is ${both(Math.abs(off))} ${off > 0 ? "longer" : "shorter"}`;
}

/* What speaks against two sides being a seam: lengths, directions or ends that disagree by more than ease could be. */
function warnings(data, state, first, second) {
  const told = [], [a, b] = [first, second].map((side) => sideLength(data, side));
  const times = Math.max(a, b) / Math.min(a, b);
  if (times > GATHERED) told.push(`One side is ${times.toFixed(2)} times as long as the other: more than ease. Say the ratio if it is gathered.`);
  if (first.length === 1 && second.length === 1 && first[0].edge !== second[0].edge) {
    const [one, two] = [first, second].map((side) => data.edges[side[0].edge]);
    if (one?.slant != null && two?.slant != null && Math.abs(one.slant - two.slant) > ACROSS) told.push("One runs along the grain, the other across it.");
    const met = metCorners(data, state), [p, q] = [first, second].map((side) => sideEnds(data, side));
    const right = [0, 1].filter((k) => met.has(`${p[k]} ${q[k]}`)).length, wrong = [0, 1].filter((k) => met.has(`${p[k]} ${q[1 - k]}`)).length;
    if (wrong > right) told.push("Other seams bring their ends together the other way round.");
  }
  return told;
}
