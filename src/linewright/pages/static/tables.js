// The same plan as tables: operations, stations, crews, items. A cell is edited in place; the server puts the value into
// the text, so that comments and layout stay, and the text view shows it at once.

import { make } from "./dom.js";

export class TableView {
  #row = 0;
  #column = 0;
  #pen = null;
  #rows = [];
  #columns = [];

  // `edit(change)` asks for a change and answers with { text, line }; `names()` are the things of the plan.
  constructor(box, kind, { edit, names, go }) {
    Object.assign(this, { box, kind, edit, names, go });
    this.box.addEventListener("keydown", (event) => this.#key(event));
    this.tools = this.#toolbar();
    this.scroll = make("div", { class: "tablescroll" });
    this.box.append(this.tools, this.scroll);
  }

  #toolbar() {
    const button = (text, act) => make("button", { type: "button", onclick: act }, text);
    const bar = make("div", { class: "tabletools", role: "toolbar", "aria-label": `Rows of ${this.kind}` });
    bar.append(button("Add a row", () => this.#add()));
    if (this.kind === "operations") bar.append(button("Up", () => this.#move(-1)), button("Down", () => this.#move(1)));
    bar.append(button("Remove", () => this.#remove()), button("In the text", () => this.#show()));
    return bar;
  }

  show(table) {
    if (this.#pen) return this.waiting = table;
    const held = this.box.contains(document.activeElement) && document.activeElement.closest("td");
    this.waiting = null;
    const id = { key: "id", label: "id", kind: "fixed", about: "what it is called elsewhere in the plan" };
    this.#columns = table.columns.some(({ key }) => key === "id") ? table.columns : [id, ...table.columns];
    this.#rows = table.rows;
    const head = make("tr", {}, ...this.#columns.map((column) =>
      make("th", { scope: "col", title: column.about ?? null, role: "columnheader" }, column.label)));
    const body = make("tbody", { role: "rowgroup" });
    let route = null;
    for (const [k, row] of table.rows.entries()) {
      if (row.route && row.route !== route) {
        route = row.route;
        body.append(make("tr", { class: "band", role: "row" },
          make("td", { colspan: this.#columns.length, role: "gridcell" }, `Route ${route.replaceAll("_", " ")}`)));
      }
      body.append(this.#rowOf(row, k));
    }
    this.grid = make("table", { role: "grid", "aria-label": `The ${this.kind} of the plan` },
      make("thead", { role: "rowgroup" }, head), body);
    const { scrollTop, scrollLeft } = this.scroll;
    this.scroll.replaceChildren(this.grid);
    this.scroll.scrollTop = scrollTop;
    this.scroll.scrollLeft = scrollLeft;
    this.#row = Math.min(this.#row, Math.max(table.rows.length - 1, 0));
    this.#stand(this.#row, this.#column, Boolean(held));
    return true;
  }

  #rowOf(row, k) {
    const cells = this.#columns.map((column, j) => {
      const cell = row.cells[column.key] ?? { text: column.kind === "fixed" ? row.id : "" };
      const kind = [column.kind === "number" || column.kind === "amount" ? "num" : "", cell.toml && /^[[{]/.test(cell.text) ? "toml" : ""];
      return make("td", {
        tabindex: "-1", role: "gridcell", class: kind.join(" ").trim() || null, "data-row": k, "data-column": j,
        "aria-readonly": column.kind === "fixed" ? "true" : null, title: cell.text.length > 24 ? cell.text : null,
        onclick: () => this.#click(k, j),
      }, cell.text);
    });
    return make("tr", { role: "row", "data-id": row.id }, ...cells);
  }

  #cell(row, column) {
    return this.grid?.querySelector(`td[data-row="${row}"][data-column="${column}"]`);
  }

  #stand(row, column, focus = true) {
    this.grid?.querySelector('td[tabindex="0"]')?.setAttribute("tabindex", "-1");
    this.grid?.querySelector("tr.chosen")?.classList.remove("chosen");
    const cell = this.#cell(row, column);
    if (!cell) return;
    this.#row = row;
    this.#column = column;
    cell.setAttribute("tabindex", "0");
    cell.parentElement.classList.add("chosen");
    if (focus) {
      cell.focus({ preventScroll: true });
      cell.scrollIntoView({ block: "nearest", inline: "nearest" });
    }
  }

  #click(row, column) {
    if (this.#pen) return;
    const again = document.activeElement === this.#cell(row, column) && this.#row === row && this.#column === column;
    const touched = matchMedia("(pointer: coarse)").matches;
    this.#stand(row, column);
    if (again || touched || this.ready === `${row}/${column}`) this.#write();
    this.ready = `${row}/${column}`;
  }

  // Open the cell for writing, with its own text or with what was typed.
  #write(typed = null) {
    const column = this.#columns[this.#column];
    const row = this.#rows[this.#row];
    const cell = this.#cell(this.#row, this.#column);
    if (!cell || column.kind === "fixed") return;
    const text = row.cells[column.key]?.text ?? "";
    const pen = make("input", { type: "text", class: "cellpen", "aria-label": `${column.label} of ${row.id}`, autocomplete: "off", spellcheck: "false" });
    pen.value = typed ?? text;
    if (column.names) pen.setAttribute("list", this.#list(column.names));
    cell.replaceChildren(pen);
    cell.style.minWidth = `${Math.max(pen.value.length + 2, 8)}ch`;
    this.#pen = { pen, text };
    pen.addEventListener("blur", () => this.#close(true));
    pen.focus();
    if (typed === null) pen.select();
  }

  #list(kind) {
    const id = `names-${this.kind}-${kind}`;
    document.getElementById(id)?.remove();
    this.box.append(make("datalist", { id }, ...(this.names()[kind] ?? []).map((name) => make("option", { value: name }))));
    return id;
  }

  async #close(keep, [down, right] = [0, 0]) {
    if (!this.#pen) return;
    const { pen, text } = this.#pen;
    const said = pen.value.trim();
    const row = this.#rows[this.#row];
    const column = this.#columns[this.#column];
    const cell = this.#cell(this.#row, this.#column);
    const focused = document.activeElement === pen;
    this.#pen = null;
    cell.replaceChildren(keep ? said : text);
    cell.style.minWidth = "";
    const at = [Math.min(Math.max(this.#row + down, 0), this.#rows.length - 1), Math.min(Math.max(this.#column + right, 0), this.#columns.length - 1)];
    this.#stand(...at, focused);
    if (!keep || said === text) {
      if (this.waiting) this.show(this.waiting);
      return;
    }
    row.cells[column.key] = { ...(row.cells[column.key] ?? {}), text: said };
    const toml = looksLikeToml(said) || Boolean(row.cells[column.key].toml && /^[[{]/.test(said));
    if (!(await this.edit({ path: `${row.path}.${column.key}`, text: said, toml })) && this.#cell(at[0], at[1])) {
      row.cells[column.key].text = text;
      cell.replaceChildren(text);
    }
  }

  #key(event) {
    if (!event.target.closest("td")) return;
    if (this.#pen) {
      const way = { Enter: [event.shiftKey ? -1 : 1, 0], Tab: [0, event.shiftKey ? -1 : 1] }[event.key];
      if (event.key === "Escape") this.#close(false);
      else if (way) this.#close(true, way);
      else return;
      event.preventDefault();
      event.stopPropagation();
      return;
    }
    const way = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] }[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (way) this.#stand(this.#row + way[0], this.#column + way[1]);
    else if (event.key === "Home") this.#stand(this.#row, 0);
    else if (event.key === "End") this.#stand(this.#row, this.#columns.length - 1);
    else if (event.key === "Enter" || event.key === "F2") this.#write();
    else if (event.key === "Delete" || event.key === "Backspace") this.#write("");
    else if (event.key.length === 1) this.#write(event.key);
    else return;
    event.preventDefault();
  }

  // Put the cursor on the row of a thing.
  choose(id) {
    const row = this.#rows.findIndex((one) => one.id === id);
    if (row >= 0) this.#stand(row, 0);
  }

  async #add() {
    const row = this.#rows[this.#row];
    const change = { insert: this.kind };
    if (this.kind === "operations") change.after = row?.path;
    else change.id = this.#fresh();
    const before = new Set(this.#rows.map((one) => one.id));
    if (!(await this.edit(change))) return;
    const at = this.#rows.findIndex((one) => !before.has(one.id));
    if (at >= 0) this.#stand(at, 0);
  }

  // An id that no row has yet.
  #fresh() {
    const there = new Set(this.#rows.map((row) => row.id));
    const stem = `new_${this.kind.replace(/s$/, "")}`;
    let id = stem;
    for (let k = 2; there.has(id); k += 1) id = `${stem}_${k}`;
    return id;
  }

  async #move(by) {
    const row = this.#rows[this.#row];
    if (!row) return;
    if (await this.edit({ move: row.path, by })) this.choose(row.id);
  }

  async #remove() {
    const row = this.#rows[this.#row];
    if (row) await this.edit({ remove: row.path });
  }

  #show() {
    const row = this.#rows[this.#row];
    if (row) this.go(row);
  }
}

// Tables and lists are written as TOML; anything else is a text, which the server writes as the field wants it.
const looksLikeToml = (text) => /^[[{].*[\]}]$/s.test(text);
