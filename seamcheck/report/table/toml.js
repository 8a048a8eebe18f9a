// Reading TOML as far as a seam plan goes, with the place of every header and key in the text.

class TomlError extends Error {}

/* Gives {values, headers, keys}. `headers` are {path, array, index, start, end}, `keys` are {path, start, end}, both in
   the order of the text; `start` and `end` are positions in it, of a key from its name to the end of its value. */
function readToml(text) {
  let at = 0;
  const values = Object.create(null), headers = [], keys = [];
  const fail = (what) => {
    throw new TomlError(`line ${text.slice(0, at).split("\n").length}: ${what}`);
  };
  const spaces = () => { while (text[at] === " " || text[at] === "\t") at += 1; };
  const blanks = () => {
    for (;;) {
      while (/[ \t\r\n]/.test(text[at] ?? "")) at += 1;
      if (text[at] !== "#") return;
      while (at < text.length && text[at] !== "\n") at += 1;
    }
  };
  const endOfLine = () => {
    spaces();
    if (text[at] === "#") while (at < text.length && text[at] !== "\n") at += 1;
    if (text[at] === "\r") at += 1;
    if (at < text.length && text[at] !== "\n") fail("something stands behind the end of a value");
  };
  const escapes = { b: "\b", t: "\t", n: "\n", f: "\f", r: "\r", '"': '"', "\\": "\\" };

  function basic(many) {
    let out = "";
    for (;;) {
      const sign = text[at];
      if (sign === undefined || (!many && sign === "\n")) fail("a text in quotes has no end");
      if (many ? text.startsWith('"""', at) : sign === '"') {
        at += many ? 3 : 1;
        while (many && text[at] === '"') { out += '"'; at += 1; }
        return out;
      }
      at += 1;
      if (sign !== "\\") { out += sign; continue; }
      const next = text[at++];
      if (next in escapes) { out += escapes[next]; continue; }
      const digits = { u: 4, U: 8 }[next];
      if (digits) {
        const code = text.slice(at, at + digits);
        if (!/^[0-9A-Fa-f]+$/.test(code) || code.length !== digits || parseInt(code, 16) > 0x10ffff) fail("an escape is not known");
        out += String.fromCodePoint(parseInt(code, 16));
        at += digits;
      } else if (many && /\s/.test(next ?? "")) {
        while (/\s/.test(text[at] ?? "")) at += 1;
      } else fail("an escape is not known");
    }
  }

  function string() {
    if (text.startsWith('"""', at)) { at += 3; if (text[at] === "\n") at += 1; return basic(true); }
    if (text[at] === '"') { at += 1; return basic(false); }
    const quote = text.startsWith("'''", at) ? "'''" : "'";
    at += quote.length;
    if (quote.length === 3 && text[at] === "\n") at += 1;
    const end = text.indexOf(quote, at);
    if (end < 0 || (quote === "'" && text.slice(at, end).includes("\n"))) fail("a text in quotes has no end");
    const out = text.slice(at, end);
    at = end + quote.length;
    return out;
  }

  function dottedKey() {
    const path = [];
    for (;;) {
      spaces();
      const bare = /^[A-Za-z0-9_-]+/.exec(text.slice(at, at + 200));
      if (bare) { path.push(bare[0]); at += bare[0].length; }
      else if (text[at] === '"' || text[at] === "'") path.push(string());
      else fail("a key is missing");
      spaces();
      if (text[at] !== ".") return path;
      at += 1;
    }
  }

  function value(path) {
    const sign = text[at];
    if (sign === '"' || sign === "'") return string();
    if (sign === "[") {
      const out = [];
      at += 1;
      for (;;) {
        blanks();
        if (text[at] === "]") { at += 1; return out; }
        out.push(value([...path, out.length]));
        blanks();
        if (text[at] === ",") at += 1;
        else if (text[at] !== "]") fail("a list has no end");
      }
    }
    if (sign === "{") {
      const out = Object.create(null);
      at += 1;
      for (;;) {
        blanks();
        if (text[at] === "}") { at += 1; return out; }
        pair(out, path);
        blanks();
        if (text[at] === ",") at += 1;
        else if (text[at] !== "}") fail("a table in braces has no end");
      }
    }
    const word = /^[^\s,\]}#]+/.exec(text.slice(at, at + 100))?.[0] ?? "";
    at += word.length;
    if (word === "true" || word === "false") return word === "true";
    const plain = word.replace(/_/g, "");
    if (!/^[+-]?(\d+(\.\d+)?([eE][+-]?\d+)?|0x[0-9A-Fa-f]+|0o[0-7]+|0b[01]+)$/.test(plain)) fail(`"${word}" is no value that a plan can hold`);
    return Number(plain);
  }

  function step(table, name, fresh) {
    if (!(name in table)) table[name] = fresh();
    const next = table[name];
    const inner = Array.isArray(next) ? next[next.length - 1] : next;
    if (inner === null || typeof inner !== "object" || Array.isArray(inner)) fail(`"${name}" is given twice`);
    return inner;
  }

  function pair(table, prefix) {
    const start = at;
    const path = dottedKey();
    if (text[at] !== "=") fail('"=" is missing behind a key');
    at += 1;
    spaces();
    let inner = table;
    for (const name of path.slice(0, -1)) inner = step(inner, name, () => Object.create(null));
    const last = path[path.length - 1];
    if (last in inner) fail(`"${last}" is given twice`);
    inner[last] = value([...prefix, ...path]);
    keys.push({ path: [...prefix, ...path], start, end: at });
  }

  let table = values, path = [];
  for (blanks(); at < text.length; blanks()) {
    if (text[at] === "[") {
      const start = at, array = text[at + 1] === "[";
      at += array ? 2 : 1;
      const names = dottedKey();
      if (!text.startsWith(array ? "]]" : "]", at)) fail("a header has no end");
      at += array ? 2 : 1;
      let inner = values;
      for (const name of names.slice(0, -1)) inner = step(inner, name, () => Object.create(null));
      const last = names[names.length - 1];
      let index = 0;
      if (array) {
        if (!(last in inner)) inner[last] = [];
        if (!Array.isArray(inner[last])) fail(`"${last}" is given twice`);
        index = inner[last].push(Object.create(null)) - 1;
        table = inner[last][index];
      } else {
        table = step(inner, last, () => Object.create(null));
      }
      path = array ? [...names, index] : names;
      headers.push({ path: names, array, index, start, end: at });
    } else {
      pair(table, path);
    }
    endOfLine();
  }
  return { values, headers, keys };
}

/* A text as a TOML string: JSON's escapes are TOML's, but for the one control character that JSON leaves bare. */
function quoted(text) {
  return JSON.stringify(text).replace(/\x7f/g, "\\u007f");
}

function listed(names) {
  return `[${names.map(quoted).join(", ")}]`;
}
