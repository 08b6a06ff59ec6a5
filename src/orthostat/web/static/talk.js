// Speaking with the server. Nothing is worked out here.
const token = document.querySelector('meta[name="page-token"]').content;

export class Refused extends Error {
  constructor(status, shown) {
    super(shown.refused || (shown.problems || []).join("\n") || `refused (${status})`);
    this.status = status;
    this.shown = shown;
  }
}

export async function change(path, body) {
  return read(await post(path, body));
}

// As `change`, of answers that come one after the other; each is told as it comes.
export async function stream(path, body, told, signal) {
  const response = await post(path, body, signal);
  if (!response.headers.get("Content-Type").startsWith("text/event-stream")) return told(await read(response));
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    text += value;
    for (let end; (end = text.indexOf("\n\n")) >= 0; text = text.slice(end + 2)) told(JSON.parse(text.slice("data: ".length, end)));
  }
}

async function post(path, body, signal) {
  const headers = { "Content-Type": "application/json", "X-Page-Token": token };
  try {
    return await fetch(path, { method: "POST", headers, body: JSON.stringify(body), signal });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, { refused: "The page's server does not answer. Start it again; what was saved is safe." });
  }
}

export async function news(path, signal) {
  return read(await fetch(path, { signal }));
}

async function read(response) {
  const text = await response.text();
  let shown;
  try {
    shown = JSON.parse(text);
  } catch {
    shown = { refused: text.trim() };
  }
  if (!response.ok) throw new Refused(response.status, shown);
  return shown;
}

export function columnPath(rest = "") {
  return `/column/${encodeURIComponent(document.body.dataset.column)}${rest}`;
}

// A notice in the corner; what it says is text, never markup.
export function notice(lines, rows = [], buttons = []) {
  const box = document.createElement("div");
  box.className = "notice";
  for (const line of lines) box.append(made("p", line));
  if (rows.length) {
    const table = document.createElement("table");
    for (const row of rows) {
      const tr = document.createElement("tr");
      row.forEach((cell) => tr.append(made("td", cell)));
      table.append(tr);
    }
    box.append(table);
  }
  for (const [words, act] of [...buttons, ["close", () => {}]]) {
    const button = made("button", words);
    button.type = "button";
    button.addEventListener("click", () => {
      box.remove();
      act();
    });
    box.append(button, " ");
  }
  document.getElementById("note").replaceChildren(box);
}

function made(tag, text) {
  const element = document.createElement(tag);
  element.textContent = text;
  return element;
}

export function printable() {
  document.getElementById("print")?.addEventListener("click", () => window.print());
}

// How far long work has come: words, a bar, and the time it has taken.
export function progress(box, told) {
  const bar = box?.querySelector("progress");
  if (!bar) return;
  if (told.share === null) bar.removeAttribute("value");
  else bar.value = told.share;
  box.querySelector(".doing").textContent = told.doing || "begun";
  box.querySelector(".spent").textContent = told.spent;
}

export function pause(milliseconds) {
  return new Promise((done) => setTimeout(done, milliseconds));
}
