// Where every piece is at a time, from the trace of a simulation: before an operation, in work, or done and gone;
// and which operations that go on without pieces are running.

const WAITS = 0;
const WORKS = 1;
const DONE = 2; // the work is over and the place still taken: standing behind a full store or place

export { DONE, WAITS, WORKS };

export class Pieces {
  constructor(data) {
    this.names = data.names;
    this.begin = data.begin;
    this.end = data.end;
    this.trace = data.trace;
    this.before = data.before;
    this.count = data.trace.time.length;
    this.flows = new Set([...rowsAt(data.trace, this.names), ...rowsAt(data.before, this.names)]);
    this.#ahead();
    this.restart();
  }

  // For every record, the operation at which the same piece appears next (-1: none).
  #ahead() {
    const { lot, item, operation } = this.trace;
    const next = new Map();
    this.then = new Int32Array(this.count).fill(-1);
    for (let k = this.count - 1; k >= 0; k -= 1) {
      const key = lot[k] * 4096 + item[k];
      this.then[k] = next.get(key) ?? -1;
      if (operation[k] >= 0) next.set(key, operation[k]);
    }
    this.first = next;
    this.#usual();
  }

  // Where the pieces of an operation mostly go: for those whose next step comes after the trace has ended.
  #usual() {
    const seen = this.names.operation.map(() => new Map());
    this.then.forEach((to, k) => {
      const from = this.trace.operation[k];
      if (from >= 0 && to >= 0 && to !== from) seen[from].set(to, (seen[from].get(to) ?? 0) + 1);
    });
    this.usual = seen.map((counts) => [...counts].reduce((a, b) => (b[1] > a[1] ? b : a), [-1, 0])[0]);
  }

  restart() {
    this.at = 0;
    this.time = this.begin;
    this.lots = new Map();
    this.down = new Set();
    this.running = new Set();
    this.finished = 0;
    this.scrapped = 0;
    this.moved = [];
    const { before } = this;
    for (let k = 0; k < before.time.length; k += 1) {
      this.#take(before, k, this.first.get(before.lot[k] * 4096 + before.item[k]) ?? -1);
    }
    this.finished = this.scrapped = 0;
    this.moved = [];
  }

  // Go to a time; pieces that changed their operation on the way are left in `moved`.
  go(time) {
    if (time < this.time) this.restart();
    this.moved = [];
    const times = this.trace.time;
    while (this.at < this.count && times[this.at] <= time) {
      this.#take(this.trace, this.at, this.then[this.at]);
      this.at += 1;
    }
    this.time = time;
  }

  #take(rows, k, next) {
    const event = this.names.event[rows.event[k]];
    const operation = rows.operation[k];
    const station = rows.station[k];
    if (event === "stops" || event === "mended") {
      if (event === "stops") this.down.add(station);
      else this.down.delete(station);
      return;
    }
    if (this.flows.has(operation)) {
      if (event === "starts" || event === "runs at") this.running.add(operation);
      else this.running.delete(operation);
      return;
    }
    const key = rows.lot[k] * 4096 + rows.item[k];
    const was = this.lots.get(key);
    if (event === "finished" || event === "scrapped" || event === "seconds") {
      this.lots.delete(key);
      if (event === "finished") this.finished += 1;
      if (event === "scrapped") this.scrapped += 1;
      if (was) this.moved.push({ from: was.operation, to: -1, gone: event });
      return;
    }
    const now = { operation, phase: WAITS, since: rows.time[k], item: rows.item[k] };
    if (event === "starts") now.phase = WORKS;
    else if (event === "ends") {
      // What comes next at once is shown as waiting there; the last step keeps its piece until it is handed on.
      const to = next >= 0 ? next : this.usual[operation] ?? -1;
      if (to >= 0 && to !== operation) now.operation = to;
      else now.phase = DONE;
    }
    if (was && was.operation !== now.operation) this.moved.push({ from: was.operation, to: now.operation });
    this.lots.set(key, now);
  }

  // For each operation how many pieces wait before it, are in work, or stand there finished.
  counts() {
    const found = this.names.operation.map(() => [0, 0, 0]);
    for (const { operation, phase } of this.lots.values()) if (operation >= 0) found[operation][phase] += 1;
    for (const operation of this.running) found[operation][WORKS] = 1;
    return found;
  }
}

// Operations that run at a rate: they have no pieces, they run or stand still.
function* rowsAt(rows, names) {
  const mark = names.event.indexOf("runs at");
  for (let k = 0; k < rows.time.length; k += 1) if (rows.event[k] === mark && mark >= 0) yield rows.operation[k];
}
