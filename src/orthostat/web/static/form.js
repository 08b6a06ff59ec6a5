// The form: entries as typed, faults beneath them, nothing that jumps.
import { change, notice, Refused, stream } from "./talk.js";

const form = document.getElementById("form");
const state = { revision: form.dataset.revision, opened: [], base: "", shown: () => {}, tried: () => {}, look: () => {}, asked: () => ({}) };

export function start(base, shown, tried = null, look = () => {}, asked = () => ({})) {
  state.base = base;
  state.shown = shown;
  state.tried = tried;
  state.look = look;
  state.asked = asked;
  form.addEventListener("input", typed);
  form.addEventListener("change", settled);
  form.addEventListener("keydown", keyed);
  form.addEventListener("click", clicked);
  form.addEventListener("submit", submitted);
  document.getElementById("undo").addEventListener("click", () => step("undo"));
  document.getElementById("redo").addEventListener("click", () => step("redo"));
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || isDirty(document.activeElement)) return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey) act(event, () => step("undo"));
    else if (key === "y" || (key === "z" && event.shiftKey)) act(event, () => step("redo"));
  });
  window.addEventListener("hashchange", find);
  find();
}

export function revision() {
  return state.revision;
}

export function isBusyTyping() {
  return [...form.querySelectorAll("[data-path]")].some(isDirty);
}

// Load the form anew, because somebody else changed the document.
export async function reload() {
  put(await change(`${state.base}/form`, request({})));
}

function act(event, doing) {
  event.preventDefault();
  doing();
}

function request(more) {
  return { revision: state.revision, opened: state.opened, section: form.dataset.section || "", ...more };
}

function isDirty(entry) {
  return Boolean(entry?.dataset?.path) && "was" in entry.dataset && entry.value !== entry.dataset.was;
}

// ---- typing: the newest text is tried out, and what was asked of the one before is given up

const tab = crypto.getRandomValues(new Uint32Array(2)).join("-");
let key = 0;
let leave = null;

function typed(event) {
  const entry = event.target;
  if (!("was" in entry.dataset)) return;
  entry.closest(".entry").classList.toggle("dirty", isDirty(entry));
  if (!state.tried || entry.tagName === "SELECT") return;
  if (isDirty(entry)) tryOut(entry);
  else takenBack();
}

async function tryOut(entry) {
  giveUp();
  const mine = key;
  await queue; // what is being saved comes first: this text stands on it
  if (mine !== key || !isDirty(entry)) return;
  leave = new AbortController();
  const { turn, ...more } = state.asked();
  const told = (answer) => {
    if (mine === key && !answer.stale) state.tried(answer, turn);
  };
  try {
    await stream(`${state.base}/try`, request({ edits: [set(entry)], tab, key, ...more }), told, leave.signal);
  } catch (error) {
    if (!(error instanceof Refused) && error.name !== "AbortError") throw error;
  }
}

function giveUp() {
  key += 1;
  leave?.abort();
  leave = null;
}

function takenBack() {
  giveUp();
  state.shown(null);
}

function set(entry) {
  return { do: "set", path: JSON.parse(entry.dataset.path), text: entry.value };
}

// ---- settling: the entry is saved

let queue = Promise.resolve();

function settled(event) {
  const entry = event.target;
  if (isDirty(entry)) send([set(entry)], entry);
}

function keyed(event) {
  const entry = event.target;
  if (!("was" in (entry.dataset || {}))) return;
  if (event.key === "Escape" && isDirty(entry)) {
    event.preventDefault();
    entry.value = entry.dataset.was;
    entry.closest(".entry").classList.remove("dirty");
    const shown = entry.closest(".entry").querySelector(".echo");
    shown.textContent = shown.dataset.stood ?? shown.textContent;
    takenBack();
  } else if (event.key === "Enter" && (entry.tagName === "INPUT" || event.ctrlKey)) {
    event.preventDefault();
    if (isDirty(entry)) send([set(entry)], entry);
  }
}

function send(edits, entry = null, then = null) {
  const sent = entry?.value;
  giveUp();
  queue = queue.then(async () => {
    try {
      const looked = state.look(request({ edits }));
      const answer = await change(`${state.base}/edit`, request({ edits }));
      if (entry) entry.dataset.was = sent;
      put(answer, looked);
      then?.();
    } catch (error) {
      refused(error, edits, entry);
    }
  });
  return queue;
}

function refused(error, edits, entry) {
  if (!(error instanceof Refused)) throw error;
  if (error.status !== 409) return notice([error.message]);
  const rows = error.shown.changed.map((each) => [each.key, each.then || "–", "→", each.now || "–"]);
  const mine = entry ? [`Your entry “${entry.value}” is still in its field.`] : [];
  state.revision = error.shown.revision;
  notice([error.message, ...mine], rows, [
    ["make my change on top", () => send(edits, entry)],
    ["leave it, show theirs", () => reload()],
  ]);
}

async function step(which) {
  queue = queue.then(async () => {
    try {
      put(await change(`${state.base}/step`, request({ do: which })));
    } catch (error) {
      refused(error, [], null);
    }
  });
}

// ---- buttons

function clicked(event) {
  const button = event.target.closest("button[data-do]");
  if (!button) return;
  const path = JSON.parse(button.dataset.path);
  const what = button.dataset.do;
  if (what === "state" || what === "open") open(path);
  else if (what === "append") send([{ do: "append", path }], null, () => reveal(path, true));
  else if (what === "copy") send([{ do: "copy", path }], null, () => reveal(path.slice(0, -1), true));
  else send([{ do: what, path }]);
}

function submitted(event) {
  event.preventDefault();
  const adder = event.target;
  const path = JSON.parse(adder.dataset.path);
  const name = adder.elements.name.value.trim();
  if (!name) return adder.elements.name.focus();
  if (adder.dataset.do === "copy") send([{ do: "copy", path, name }], null, () => reveal([...path.slice(0, -1), name], false));
  else if (adder.dataset.do === "name entry") open([...path, name]);
  else send([{ do: "open", path: [...path, name] }], null, () => reveal([...path, name], false));
}

async function open(path) {
  state.opened.push(path);
  await reload();
  reveal(path, false);
}

function reveal(path, last) {
  const wanted = JSON.stringify(path);
  const all = [...form.querySelectorAll("[data-path]")];
  let found = all.find((each) => each.dataset.path === wanted && "was" in each.dataset);
  if (!found) {
    const inside = all.filter((each) => "was" in each.dataset && each.dataset.path.startsWith(wanted.slice(0, -1) + ","));
    if (last && inside.length) {
      const index = (each) => JSON.parse(each.dataset.path)[path.length];
      const newest = index(inside.at(-1));
      found = inside.find((each) => index(each) === newest);
    } else found = inside[0];
  }
  if (!found) return;
  for (let at = found.closest("details"); at; at = at.parentElement.closest("details")) at.open = true;
  found.scrollIntoView({ block: "nearest" });
  found.focus();
}

// A link from a finding: #plan.across_flats
function find() {
  const key = decodeURIComponent(location.hash.slice(1));
  if (!key) return;
  const all = [...form.querySelectorAll(".entry[data-key], .group[data-key]")];
  let found = all.find((each) => each.dataset.key === key);
  if (!found && !state.opened.some((each) => each.join(".") === key) && /^[\w.]+$/.test(key)) {
    const path = key.split(".");
    return open(path).catch(() => {});
  }
  for (let cut = key; !found && cut; cut = cut.replace(/[.[][^.[]*$|^[^.[]*$/, "")) found = all.find((each) => each.dataset.key === cut);
  if (!found) return;
  for (let at = found.closest("details"); at; at = at.parentElement.closest("details")) at.open = true;
  found.querySelector("input, select, textarea, summary")?.focus();
  found.scrollIntoView({ block: "center" });
  form.querySelectorAll(".shown").forEach((each) => each.classList.remove("shown"));
  found.classList.add("shown");
  history.replaceState(null, "", location.pathname);
}

// ---- putting an answer into the form without moving anything

function put(answer, looked = null) {
  state.revision = answer.revision;
  const fresh = document.createElement("div");
  fresh.innerHTML = answer.form;
  if (keys(fresh) === keys(form)) renew(fresh);
  else replace(fresh);
  for (const which of ["undo", "redo"]) {
    const button = document.getElementById(which);
    button.disabled = !answer[which];
    button.title = answer[which];
  }
  state.shown(answer, looked);
  if (!state.tried) return;
  const unsettled = [...form.querySelectorAll("[data-was]")].find((each) => isDirty(each) && each.tagName !== "SELECT");
  if (unsettled) tryOut(unsettled);
}

function keys(root) {
  const marks = [...root.querySelectorAll("[data-key]")].map((each) => each.dataset.key);
  const extra = [...root.querySelectorAll(".unsaved, .stray, .assumed")].map((each) => each.className);
  return [...marks, ...extra].join("\n");
}

function renew(fresh) {
  const theirs = [...fresh.querySelectorAll(".entry")];
  [...form.querySelectorAll(".entry")].forEach((mine, index) => {
    const other = theirs[index];
    const entry = mine.querySelector("[data-was]");
    const from = other.querySelector("[data-was]");
    mine.classList.toggle("has-fault", other.classList.contains("has-fault"));
    mine.querySelector(".fault").textContent = other.querySelector(".fault").textContent;
    mine.querySelector(".echo").replaceWith(other.querySelector(".echo"));
    from.hasAttribute("aria-invalid") ? entry.setAttribute("aria-invalid", "true") : entry.removeAttribute("aria-invalid");
    if (isDirty(entry)) return;
    if (entry.value !== from.dataset.was) {
      if (entry.tagName === "SELECT" && ![...entry.options].some((each) => each.value === from.dataset.was)) entry.append(new Option(from.dataset.was));
      entry.value = from.dataset.was;
    }
    entry.dataset.was = from.dataset.was;
    mine.classList.remove("dirty");
  });
  const gists = [...fresh.querySelectorAll(".group > summary")];
  [...form.querySelectorAll(".group > summary")].forEach((mine, index) => mine.replaceChildren(...gists[index].childNodes));
}

function replace(fresh) {
  const opened = new Set([...form.querySelectorAll("details[open]")].map((each) => each.dataset.key));
  const active = form.contains(document.activeElement) ? document.activeElement : null;
  const path = active?.dataset.path;
  const cursor = active && "selectionStart" in active ? [active.selectionStart, active.selectionEnd] : null;
  const unsent = [...form.querySelectorAll("[data-was]")].filter(isDirty).map((each) => [each.dataset.path, each.value]);
  const pane = form.closest(".pane");
  const top = pane.scrollTop;
  form.replaceChildren(...fresh.childNodes);
  for (const each of form.querySelectorAll("details")) if (opened.has(each.dataset.key)) each.open = true;
  const all = [...form.querySelectorAll("[data-was]")];
  for (const [at, value] of unsent) {
    const entry = all.find((each) => each.dataset.path === at);
    if (entry) {
      entry.value = value;
      entry.closest(".entry").classList.add("dirty");
    }
  }
  pane.scrollTop = top;
  const again = path && all.find((each) => each.dataset.path === path);
  if (again) {
    again.focus({ preventScroll: true });
    if (cursor && cursor[0] !== null && again.setSelectionRange) again.setSelectionRange(...cursor);
  }
}

// What a text that is being tried out is in the other units, by key.
export function showEchoes(echoes) {
  for (const [key, words] of Object.entries(echoes)) {
    const shown = form.querySelector(`.entry.dirty[data-key="${CSS.escape(key)}"] .echo`);
    if (!shown) continue;
    shown.dataset.stood ??= shown.textContent;
    shown.textContent = words;
  }
}

// Faults of a text that is being tried out stand under their fields too.
export function showFaults(faults) {
  const told = Object.entries(faults);
  for (const each of form.querySelectorAll(told.length ? ".entry" : ".entry.dirty")) {
    const said = told.filter(([key]) => key === each.dataset.key || key.startsWith(each.dataset.key + "[")).flatMap(([, words]) => words);
    const fault = each.querySelector(".fault");
    if (said.length || each.classList.contains("dirty")) {
      fault.textContent = said.join("; ");
      each.classList.toggle("has-fault", said.length > 0);
    }
  }
}
