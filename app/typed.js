// A field whose text is kept while it is typed, or, if it is one line, when it is left.
//
// data.value: the text as it is kept; data.taken: number of the last text that was taken in
// data.failed, data.problem: number of a text that could not be, and why
// data.draft: name under which this browser keeps what was not taken in yet, so that a tab that is
//             closed or loaded anew loses nothing
const PAUSE_MS = 600;
const LONGEST_MS = 3000;

export default function ({ parentElement, data, setStateValue }) {
  const root = parentElement.querySelector(".typed");
  let state = root.state;
  if (state?.draft !== data.draft) state = root.state = begin(root, data);
  state.put = (text) => setStateValue("typed", text);
  state.value = data.value;
  const { field } = state;
  if (state.sent && data.taken >= state.sent.serial) {
    const { text } = state.sent;
    state.sent = null;
    const rest = field.value === text ? null : field.value; // typed since it was sent
    if (rest === null) settle(state, data.value);
    else {
      // Another window's words may have come in before ours: they stay in front.
      const front = data.value !== text && data.value.endsWith(text);
      if (front) write(field, data.value.slice(0, data.value.length - text.length) + rest);
      state.over = data.value;
      changed(state);
    }
  } else if (!state.open) settle(state, data.value);
  if (state.sent && state.sent.serial === data.failed) state.sent = null; // may be sent again
  state.problem = data.problem;
  tell(state);
  if (state.late) {
    state.late = false;
    send(state);
  }
}

function begin(root, data) {
  const field = document.createElement(data.lines ? "textarea" : "input");
  const label = document.createElement("label");
  const name = document.createElement("span");
  const foot = document.createElement("p");
  const words = document.createElement("span");
  const back = document.createElement("button");
  name.textContent = data.label;
  field.placeholder = data.placeholder;
  field.maxLength = data.most;
  if (data.lines) field.rows = data.lines;
  else field.type = "text";
  back.type = "button";
  label.append(name, field);
  foot.append(words, back);
  root.replaceChildren(label, foot);
  const state = { draft: data.draft, lines: data.lines, field, words, back, open: false };
  state.over = state.start = field.value = data.value;
  const left = read(data.draft);
  if (left && left.text !== data.value) {
    state.over = left.over;
    field.value = left.text;
    state.open = true;
    state.late = Boolean(data.lines); // one line is sent only when the user says so
  } else forget(data.draft);
  field.onfocus = () => {
    if (!state.open) state.start = field.value;
  };
  field.oninput = () => changed(state);
  field.onchange = () => send(state);
  field.onkeydown = (event) => {
    if (event.key === "Enter" && !data.lines) send(state);
  };
  back.onclick = () => {
    const typed = field.value;
    write(field, state.start);
    state.start = typed;
    changed(state);
    send(state);
  };
  const leave = () => {
    if (!root.isConnected) root.leave.abort();
    else if (data.lines) send(state);
  };
  root.leave?.abort();
  root.leave = new AbortController();
  const options = { signal: root.leave.signal };
  // A finger goes down a while before its tap counts: what is sent then is in before a link is
  // followed, and a text sent with the link's click would call back the page that was left.
  document.addEventListener("pointerdown", leave, { ...options, capture: true });
  addEventListener("pagehide", leave, options);
  document.addEventListener("visibilitychange", leave, options);
  return state;
}

function changed(state) {
  state.open = true;
  keep(state.draft, { over: state.over, text: state.field.value });
  tell(state);
  if (!state.lines) return;
  state.since ??= Date.now();
  clearTimeout(state.timer);
  const wait = Math.min(PAUSE_MS, Math.max(0, state.since + LONGEST_MS - Date.now()));
  state.timer = setTimeout(() => send(state), wait);
}

function send(state) {
  clearTimeout(state.timer);
  state.since = null;
  const text = state.field.value;
  if (!state.open || state.sent?.text === text || !state.field.isConnected) return;
  const serial = Math.max(Date.now(), (state.sent?.serial ?? 0) + 1);
  state.sent = { serial, over: state.over, text };
  state.put(state.sent);
}

function settle(state, value) {
  if (state.open) forget(state.draft);
  state.open = false;
  state.over = value;
  write(state.field, value);
}

function write(field, text) {
  if (field.value === text) return;
  const fromEnd = field.value.length - field.selectionEnd; // the cursor stays before the same words
  field.value = text;
  if (field.getRootNode().activeElement === field)
    field.setSelectionRange(text.length - fromEnd, text.length - fromEnd);
}

function tell(state) {
  const kept = state.lines ? "Kept as you type." : "";
  const wait = state.lines ? "Not kept yet …" : "Not kept yet: press Enter.";
  const words = state.problem || (state.open ? wait : kept);
  if (state.words.textContent !== words) state.words.textContent = words;
  const undo = state.lines && !state.open && state.start !== state.field.value;
  state.back.textContent = undo ? "Undo what was typed" : "";
  state.back.hidden = !undo;
}

// Storage may be switched off; the text is then kept as it is typed, only.
function read(name) {
  try {
    const left = JSON.parse(localStorage.getItem(name));
    return typeof left?.text === "string" && typeof left?.over === "string" ? left : null;
  } catch {
    return null;
  }
}

function keep(name, left) {
  try {
    localStorage.setItem(name, JSON.stringify(left));
  } catch {}
}

function forget(name) {
  try {
    localStorage.removeItem(name);
  } catch {}
}
