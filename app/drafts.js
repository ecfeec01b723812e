// Keeps what is typed into the page's own fields, and was not sent yet, in this browser, and offers
// it again where the page was closed or loaded anew in between.
//
// data.whose: stands for the store that the page shows; other stores have other drafts
//
// A draft goes away when its field or its form is sent. Choices and files are no typed words and are
// not kept; the notes of our own keep theirs themselves.
const DAYS_MS = 30 * 24 * 3600 * 1000;
const LOOK_MS = 800;
const FIELDS = 'input[type="text"], input[type="number"], textarea';
const DOCUMENT_KEY = Symbol.for("value-add drafts");

export default function ({ parentElement, data }) {
  const state = (window[DOCUMENT_KEY] ??= begin());
  state.root = parentElement.querySelector(".drafts");
  state.prefix = `draft ${data.whose} `;
  state.shown = null;
  look(state);
}

function begin() {
  const state = { typed: new WeakSet() };
  document.addEventListener("input", (event) => {
    const field = event.composedPath()[0];
    if (event.isTrusted && isKept(field)) write(state, field);
  });
  document.addEventListener("focusout", (event) => {
    const field = event.composedPath()[0];
    if (isKept(field) && !formOf(field)) forget(state, name(state, field));
  });
  document.addEventListener("keydown", (event) => {
    const field = event.composedPath()[0];
    if (event.key !== "Enter" || !isKept(field) || field.tagName === "TEXTAREA") return;
    if (formOf(field)) sent(state, formOf(field));
    else forget(state, name(state, field));
  });
  document.addEventListener(
    "click",
    (event) => {
      const button = event.target.closest?.('[data-testid="stFormSubmitButton"] button');
      if (button && formOf(button)) sent(state, formOf(button));
    },
    { capture: true },
  );
  setInterval(() => look(state), LOOK_MS);
  return state;
}

const formOf = (element) => element.closest('[data-testid="stForm"]');

function isKept(field) {
  return (
    field instanceof HTMLElement &&
    field.matches(FIELDS) &&
    field.getAttribute("role") !== "combobox" &&
    Boolean(keyOf(field))
  );
}

// A field's place on the page, and for a cell of a table, which one.
function keyOf(field) {
  const table = field.getRootNode().host;
  if (table && !field.dataset.cell) return null;
  const place = (table ?? field).closest('[class*="st-key-"]');
  const key = place && [...place.classList].find((one) => one.startsWith("st-key-"));
  return key && (table ? `${key} ${field.dataset.cell}` : key);
}

function fieldAt(key) {
  const [where, ...cell] = key.split(" ");
  const place = document.querySelector("." + CSS.escape(where));
  if (!cell.length) return place?.querySelector(FIELDS);
  const table = [...(place?.querySelectorAll("*") ?? [])].find((one) => one.shadowRoot);
  return table?.shadowRoot.querySelector(`[data-cell="${CSS.escape(cell.join(" "))}"]`);
}

const name = (state, field) => state.prefix + keyOf(field);

function write(state, field) {
  state.typed.add(field);
  const label = field.getAttribute("aria-label") ?? "";
  if (field.value === "") forget(state, name(state, field));
  else keep(name(state, field), { label, text: field.value, at: Date.now() });
}

// What was sent is no draft any more, unless the page answers that it can't be kept.
function sent(state, form) {
  const fields = [...form.querySelectorAll(FIELDS)].filter((one) => isKept(one));
  const left = fields.map((one) => [name(state, one), read(name(state, one))]);
  for (const [key] of left) forget(state, key);
  const ends = Date.now() + 15_000;
  const wait = () => {
    const busy = document.querySelector('[data-test-script-state="running"]');
    if (busy && Date.now() < ends) setTimeout(wait, 200);
    else if (document.querySelector('.st-key-said [data-testid="stAlert"]'))
      for (const [key, draft] of left) if (draft && read(key) === null) keep(key, draft);
  };
  setTimeout(wait, 600);
}

// Offer ---------------------------------------------------------------------------------------

function look(state) {
  if (!state.root?.isConnected) return;
  const found = [];
  for (const key of keys(state.prefix)) {
    const draft = read(key);
    if (!draft || Date.now() - draft.at > DAYS_MS) forget(state, key);
    else {
      const field = fieldAt(key.slice(state.prefix.length));
      if (field && field.value !== draft.text && !state.typed.has(field)) found.push([key, field, draft]);
    }
  }
  const words = found.map(([, , draft]) => `${draft.label}: ${draft.text.slice(0, 80)}`).join(" · ");
  if (words !== state.shown) show(state, found, words);
}

function show(state, found, words) {
  state.shown = words;
  // An empty place would still be set apart from what follows: it is not shown until it is needed.
  const place = document.querySelector(".st-key-drafts");
  if (place) place.style.display = found.length ? "block" : "";
  if (!found.length) {
    state.root.replaceChildren();
    return;
  }
  const text = document.createElement("p");
  text.textContent = `Typed here before, but not sent. ${words}`;
  const back = press("Put back", () => {
    for (const [, field, draft] of found) putBack(state, field, draft.text);
    found[0][1].focus();
    found[0][1].scrollIntoView({ block: "center" });
  });
  const drop = press("Forget it", () => {
    for (const [key] of found) forget(state, key);
  });
  for (const button of [back, drop]) button.addEventListener("click", () => look(state));
  const box = document.createElement("div");
  box.setAttribute("role", "status");
  box.append(text, back, drop);
  state.root.replaceChildren(box);
}

function press(label, does) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.addEventListener("click", does);
  return button;
}

function putBack(state, field, text) {
  const fold = field.closest("details:not([open])");
  fold?.querySelector("summary")?.click();
  const kind = field.tagName === "TEXTAREA" ? HTMLTextAreaElement : HTMLInputElement;
  Object.getOwnPropertyDescriptor(kind.prototype, "value").set.call(field, text);
  field.dispatchEvent(new Event("input", { bubbles: true }));
  if (field.dataset.cell) field.dispatchEvent(new Event("change"));
  field.dispatchEvent(new FocusEvent("focusout", { bubbles: true, composed: true }));
  state.typed.add(field);
}

// Storage may be switched off; then nothing is kept, and nothing else breaks --------------------

function keys(prefix) {
  try {
    return Object.keys(localStorage).filter((key) => key.startsWith(prefix));
  } catch {
    return [];
  }
}

function read(key) {
  try {
    const draft = JSON.parse(localStorage.getItem(key));
    return typeof draft?.text === "string" && typeof draft?.label === "string" ? draft : null;
  } catch {
    return null;
  }
}

function keep(key, draft) {
  try {
    localStorage.setItem(key, JSON.stringify(draft));
  } catch {}
}

function forget(state, key) {
  try {
    localStorage.removeItem(key);
  } catch {}
}
