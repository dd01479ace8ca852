// What differs between two texts, line by line: the longest common run of lines, found within a bounded effort.

const MOST = 4_000_000; // cells of the table; past it a changed block is shown as removed and added whole

// Rows { kind: "same" | "out" | "in", a, b, text } with line numbers from 1.
export function compared(before, after) {
  const a = before.split("\n");
  const b = after.split("\n");
  let head = 0;
  while (head < a.length && head < b.length && a[head] === b[head]) head += 1;
  let tail = 0;
  while (tail < a.length - head && tail < b.length - head && a.at(-1 - tail) === b.at(-1 - tail)) tail += 1;
  const rows = [];
  for (let k = 0; k < head; k += 1) rows.push({ kind: "same", a: k + 1, b: k + 1, text: a[k] });
  middle(a, b, head, a.length - tail, b.length - tail, rows);
  for (let k = tail; k > 0; k -= 1) {
    rows.push({ kind: "same", a: a.length - k + 1, b: b.length - k + 1, text: a[a.length - k] });
  }
  return rows;
}

function middle(a, b, head, endA, endB, rows) {
  const n = endA - head;
  const m = endB - head;
  const kept = n * m > MOST ? null : common(a, b, head, n, m);
  let i = 0;
  let j = 0;
  while (i < n || j < m) {
    const here = kept && i < n && j < m ? kept[i * (m + 1) + j] : 0;
    if (kept && i < n && j < m && a[head + i] === b[head + j]) {
      rows.push({ kind: "same", a: head + i + 1, b: head + j + 1, text: a[head + i] });
      i += 1;
      j += 1;
    } else if (i < n && (j >= m || !kept || kept[(i + 1) * (m + 1) + j] >= here)) {
      rows.push({ kind: "out", a: head + i + 1, b: null, text: a[head + i] });
      i += 1;
    } else {
      rows.push({ kind: "in", a: null, b: head + j + 1, text: b[head + j] });
      j += 1;
    }
  }
}

function common(a, b, head, n, m) {
  const table = new Uint32Array((n + 1) * (m + 1));
  for (let i = n - 1; i >= 0; i -= 1) {
    for (let j = m - 1; j >= 0; j -= 1) {
      const at = i * (m + 1) + j;
      table[at] = a[head + i] === b[head + j]
        ? table[at + m + 2] + 1
        : Math.max(table[at + m + 1], table[at + 1]);
    }
  }
  return table;
}

// Only the changes with `around` lines of context; a gap is { kind: "gap", count }.
export function near(rows, around = 3) {
  const wanted = new Uint8Array(rows.length);
  rows.forEach((row, k) => {
    if (row.kind === "same") return;
    for (let i = Math.max(0, k - around); i <= Math.min(rows.length - 1, k + around); i += 1) wanted[i] = 1;
  });
  const shown = [];
  rows.forEach((row, k) => {
    if (wanted[k]) shown.push(row);
    else if (shown.at(-1)?.kind === "gap") shown.at(-1).count += 1;
    else shown.push({ kind: "gap", count: 1 });
  });
  return shown;
}
