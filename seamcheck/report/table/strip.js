// Two sides laid beside each other from their common start, with their notches: a ruler on the table.

const STRIP = { width: 340, bar: 12, gap: 26 };

function strip(first, second) {
  const sides = [first, second], lengths = sides.map((side) => sideLength(data, side)), most = Math.max(...lengths);
  if (!(most > 0)) return null;
  const x = (value) => (value / most) * STRIP.width, parts = [];
  const off = Math.abs(lengths[0] - lengths[1]), least = Math.min(...lengths);
  sides.forEach((side, k) => {
    const y = k * (STRIP.bar + STRIP.gap) + 14;
    parts.push(h("rect", { class: "strip-bar", x: 0, y, width: x(lengths[k]), height: STRIP.bar }));
    let from = 0;
    for (const use of side) {
      const edge = data.edges[use.edge];
      if (!edge) continue;
      if (from) parts.push(h("path", { class: "strip-joint", d: `M${x(from)} ${y - 2}V${y + STRIP.bar + 2}` }));
      for (const [station, count] of edge.notches) {
        const at = x(from + (use.back ? edge.length - station : station));
        for (let n = 0; n < count; n += 1) parts.push(h("path", { class: "strip-notch", d: `M${at + n * 3} ${k ? y : y + STRIP.bar}v${k ? 7 : -7}` }));
      }
      from += edge.length;
    }
    const [start, end] = sideEnds(data, side), bare = (corner) => corner.slice(corner.indexOf(".") + 1);
    parts.push(h("text", { class: "strip-end", x: 0, y: y - 3 }, bare(start)), h("text", { class: "strip-end last", x: STRIP.width, y: y - 3 }, bare(end)));
  });
  if (off > 0.05) {
    const k = lengths[0] > lengths[1] ? 0 : 1, y = k * (STRIP.bar + STRIP.gap) + 14;
    parts.push(h("rect", { class: "strip-off", x: x(least), y, width: Math.max(x(off), 1.5), height: STRIP.bar }));
  }
  const label = `${sideText(first)}, ${mm(lengths[0])}, beside ${sideText(second)}, ${mm(lengths[1])}`;
  return h("svg", { class: "strip", viewBox: `-2 0 ${STRIP.width + 4} ${2 * STRIP.bar + STRIP.gap + 18}`, role: "img", "aria-label": label }, ...parts);
}
