// The grammar of a plan file, as far as colours and completion need it: one line at a time.

const PARTS = [
  ["comment", /#.*/y],
  ["string", /"(?:[^"\\]|\\.)*"?|'[^']*'?/y],
  ["key", /[A-Za-z0-9_-]+(?=\s*(?:\.\s*[A-Za-z0-9_"-]+\s*)*=)/y],
  ["word", /\b(?:true|false)\b/y],
  ["number", /[+-]?\d[\d_.:TZ+-]*(?:[eE][+-]?\d+)?/y],
  ["mark", /[=[\]{},.]/y],
  ["plain", /[^\s#"'=[\]{},.]+|\s+/y],
];
const LONG = { '"""': '"""', "'''": "'''" };

// For each line, the quotes of the long text that it begins inside of ("" for none).
export function openings(lines) {
  const found = new Array(lines.length);
  let open = "";
  for (let k = 0; k < lines.length; k += 1) {
    found[k] = open;
    const line = lines[k];
    if (open || line.includes('"""') || line.includes("'''")) open = opens(line, open);
  }
  return found;
}

function opens(line, open) {
  let at = 0;
  for (;;) {
    if (open) {
      const end = line.indexOf(LONG[open], at);
      if (end < 0) return open;
      at = end + 3;
      open = "";
    }
    const next = /"""|'''|#|"(?:[^"\\]|\\.)*"|'[^']*'/g;
    next.lastIndex = at;
    const hit = next.exec(line);
    if (!hit || hit[0] === "#") return "";
    at = hit.index + hit[0].length;
    if (LONG[hit[0]]) open = hit[0];
  }
}

// A line as [kind, text] pairs.
export function coloured(line, open = "") {
  const found = [];
  let at = 0;
  if (open) {
    const end = line.indexOf(open);
    at = end < 0 ? line.length : end + 3;
    found.push(["string", line.slice(0, at)]);
  } else if (/^\s*\[/.test(line)) {
    const head = /^\s*\[+[^\]#]*\]*/.exec(line)[0];
    if (!/^\s*\[+\s*["'{\d]|,/.test(head)) {
      found.push(["table", head]);
      at = head.length;
    }
  }
  while (at < line.length) {
    const long = line.startsWith('"""', at) || line.startsWith("'''", at);
    if (long) {
      const end = line.indexOf(line.slice(at, at + 3), at + 3);
      const upto = end < 0 ? line.length : end + 3;
      found.push(["string", line.slice(at, upto)]);
      at = upto;
      continue;
    }
    const [kind, text] = next(line, at);
    found.push([kind, text]);
    at += text.length;
  }
  return found;
}

function next(line, at) {
  for (const [kind, rule] of PARTS) {
    rule.lastIndex = at;
    const hit = rule.exec(line);
    if (hit) return [kind, hit[0]];
  }
  return ["plain", line[at]];
}

// The table that a line stands in: the names of the last header at or above it, e.g. ["routes", "shell", "operations"].
export function tableAt(lines, k) {
  for (let at = k; at >= 0; at -= 1) {
    const hit = /^\s*\[+\s*([^\]#=]+?)\s*\]+\s*(?:#.*)?$/.exec(lines[at]);
    if (hit) return hit[1].split(".").map((part) => part.trim().replace(/^["']|["']$/g, ""));
  }
  return [];
}
