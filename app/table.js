// A table whose cells can be changed in place. Below 640 px a row becomes a card.
//
// data.columns: id, label, kind (title, text, figure, number, choice, check), and what the kind needs
// data.groups:  id, label, folded; rows without a group need none
// data.rows:    id, name (read out with each field), group, cells {column: value}, sum
// data.seen:    number of the last edit that was taken in; edits above it are sent until they are
export default function ({ parentElement, data, setStateValue }) {
  const root = parentElement.querySelector(".sheet");
  const state = (root.state ??= { pending: [], folded: {}, shape: "", cells: new Map() });
  state.pending = state.pending.filter((edit) => edit.serial > data.seen);
  state.send = (row, column, value) => {
    const last = state.pending.at(-1)?.serial ?? 0;
    const edit = { serial: Math.max(Date.now(), last + 1, data.seen + 1), row, column, value };
    state.pending = [...state.pending, edit];
    setStateValue("edits", state.pending);
  };
  const shape = JSON.stringify([data.columns, data.groups, data.rows.map((r) => [r.id, r.group])]);
  if (shape !== state.shape) {
    state.shape = shape;
    rebuild(root, state, data);
  }
  for (const row of data.rows)
    for (const column of data.columns)
      fill(state.cells.get(row.id + "|" + column.id), column, row, root);
}

const make = (name, attributes = {}, ...children) => {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes))
    if (value !== undefined && value !== false) element.setAttribute(key, value);
  element.append(...children);
  return element;
};

function rebuild(root, state, data) {
  const active = root.getRootNode().activeElement;
  const held = active?.dataset?.cell && { cell: active.dataset.cell, value: active.value, clean: active.clean };
  state.cells.clear();
  const head = make("tr", { role: "row" });
  for (const column of data.columns) {
    const cell = make("th", { scope: "col", role: "columnheader", class: "is-" + column.kind }, column.label);
    if (column.hint) cell.title = column.hint;
    head.append(cell);
  }
  const table = make("table", { role: "table", "aria-label": data.label });
  table.append(make("thead", { role: "rowgroup" }, head));
  for (const group of data.groups.length ? data.groups : [{ id: "", label: "" }]) {
    const rows = data.rows.filter((row) => row.group === group.id);
    if (!rows.length) continue;
    if (group.label) table.append(groupHead(root, state, data, group));
    const body = make("tbody", { role: "rowgroup", "data-group": group.id });
    body.hidden = isFolded(state, group);
    for (const row of rows) body.append(line(state, data, row));
    table.append(body);
  }
  root.replaceChildren(table);
  const again = held && root.querySelector(`[data-cell="${CSS.escape(held.cell)}"]`);
  if (again && !again.closest("tbody").hidden) {
    again.focus({ preventScroll: true });
    if (held.value !== held.clean) {  // typed, and not yet sent
      again.value = held.value;
      again.clean = held.clean;
    }
  }
}

function isFolded(state, group) {
  return state.folded[group.id] ?? (group.folded && matchMedia("(max-width: 640px)").matches);
}

function groupHead(root, state, data, group) {
  const button = make("button", { type: "button", "aria-expanded": String(!isFolded(state, group)) }, group.label);
  button.onclick = () => {
    const folded = (state.folded[group.id] = !isFolded(state, group));
    button.setAttribute("aria-expanded", String(!folded));
    root.querySelector(`tbody[data-group="${CSS.escape(group.id)}"]`).hidden = folded;
  };
  const cell = make("th", { colspan: data.columns.length, role: "cell", class: "group" }, button);
  return make("tbody", { role: "rowgroup" }, make("tr", { role: "row" }, cell));
}

function line(state, data, row) {
  const tr = make("tr", { role: "row", class: row.sum ? "sum" : undefined });
  const minor = data.columns.some((column) => column.minor && row.cells[column.id] != null);
  for (const column of data.columns) {
    const cell = make("td", {
      role: "cell",
      class: "is-" + column.kind + (column.minor ? " minor" : ""),
      "data-label": column.label,
    });
    state.cells.set(row.id + "|" + column.id, cell);
    tr.append(cell);
    build(cell, column, row, state);
  }
  if (minor) {
    const more = make("button", { type: "button", "aria-expanded": "false" }, "More");
    more.onclick = () => {
      const open = tr.classList.toggle("open");
      more.setAttribute("aria-expanded", String(open));
      more.textContent = open ? "Less" : "More";
    };
    tr.append(make("td", { role: "cell", class: "more" }, more));
  }
  return tr;
}

function build(cell, column, row, state) {
  if (row.sum || row.cells[column.id] == null || !column.editable) return;
  const name = { "aria-label": `${column.label}: ${row.name}`, "data-cell": row.id + "|" + column.id };
  let field;
  if (column.kind === "choice") {
    field = make("select", name);
    for (const [value, label] of column.options) field.append(make("option", { value }, label));
  } else if (column.kind === "check") {
    field = make("input", { ...name, type: "checkbox" });
  } else if (column.kind === "number") {
    field = make("input", { ...name, type: "number", step: "any", min: column.least, max: column.most, inputmode: "decimal" });
  } else {
    field = make("input", { ...name, type: "text", maxlength: column.most });
  }
  const value = () => {
    if (column.kind === "check") return field.checked;
    if (column.kind === "number") return field.value === "" || !field.checkValidity() ? null : field.valueAsNumber;
    return field.value;
  };
  field.onchange = () => {
    const typed = value();
    if (typed === null) field.value = field.clean;
    else state.send(row.id, column.id, typed);
    if (column.kind !== "check") field.clean = field.value;
  };
  cell.append(field);
}

function fill(cell, column, row, root) {
  const value = row.cells[column.id];
  const field = cell.querySelector("input, select");
  cell.classList.toggle("empty", !field && (value == null || value === ""));
  if (!field) {
    const text = value == null ? "" : column.kind === "check" ? (value ? "✓" : "") : String(value);
    if (cell.textContent !== text) cell.textContent = text;
    return;
  }
  if (column.kind === "check") {
    field.checked = value;
    return;
  }
  if (column.kind === "choice") cell.closest("tr").dataset.say = value;
  const active = root.getRootNode().activeElement === field;
  const typing = active && field.clean !== undefined && field.value !== field.clean;
  if (!typing && field.value !== String(value)) field.value = value;
  field.clean = typing ? field.clean : field.value;
}
