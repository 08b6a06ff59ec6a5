// The list of findings: cards come as they change, and only what changed is put in its place.
const list = document.getElementById("findings");
const head = document.createElement("div");
const cards = document.createElement("ol");
cards.className = "findings";
const items = new Map(); // by slug: the item, what it was made of, and the part it belongs to
const SOON = 120; // most answers come within so long [ms]; what does is not paled and brought back
const turned = []; // what is of an earlier state since just now
const unexplained = new Set(); // items that do not say why yet: nobody sees that while they are closed
const REST = 400; // after so long without news [ms] they say it, for whoever looks for words on the page
let resting = 0;
let shownHead = null;
let counted = false; // whether the numbers above the list are those of its cards
const moved = new Set(); // items whose place in the list is another, or that are new
const parts = new Map(); // what was last told of each part
const MANY = 2000;
let made = new Map(); // what cards consist of, by their marks: what was shown before need not be sent again
let before = new Map();

for (const sort of ["click", "toggle"]) {
  list.addEventListener(sort, ({ target }) => explain(items.get(target.closest("[data-slug]")?.dataset.slug)), true);
}
window.addEventListener("beforeprint", explainAll);

export function put(answer) {
  if (!head.isConnected) list.replaceChildren(head, cards);
  const active = list.contains(document.activeElement) ? document.activeElement : null;
  const slug = active?.closest("[data-slug]")?.dataset.slug;
  const button = active?.dataset.work && active.dataset.subject;
  if (shownHead !== answer.head) {
    shownHead = head.innerHTML = answer.head;
    counted = false;
  }
  for (const [part, told] of Object.entries(answer.parts)) {
    const now = `${told.stale} ${told.screened}`;
    if (!told.cards && parts.get(part) === now) continue;
    parts.set(part, now);
    if (told.cards) renew(part, told.cards);
    for (const item of items.values()) if (item.part === part) mark(item, told);
  }
  if (turned.length) setTimeout(pale, SOON, turned.splice(0));
  if (moved.size) arrange();
  if (!counted) count();
  clearTimeout(resting);
  resting = setTimeout(explainAll, REST);
  if (active && !active.isConnected) {
    const again = button ? head.querySelector(`button[data-subject="${CSS.escape(button)}"]`) : items.get(slug)?.li.querySelector("summary");
    again?.focus({ preventScroll: true });
  }
  list.removeAttribute("aria-busy");
}

// The cards that are shown: what comes again needs no HTML.
export function held() {
  if (made.size > MANY) [before, made] = [made, new Map()];
  for (const { mark, html, cells, why } of items.values()) made.set(mark, { html, cells, why });
  return Object.fromEntries([...items].map(([slug, { mark }]) => [slug, mark]));
}

function madeOf({ mark, html, cells, why }) {
  if (html !== undefined) made.set(mark, { html, cells, why });
  return made.get(mark) ?? before.get(mark);
}

function explain(item) {
  if (!unexplained.delete(item)) return;
  item.li.querySelector(".why").innerHTML = item.why;
}

function explainAll() {
  for (const item of unexplained) explain(item);
}

function renew(part, told) {
  const kept = new Set(told.map((card) => card.slug));
  for (const [slug, item] of items) {
    if (item.part !== part || kept.has(slug)) continue;
    item.li.remove();
    items.delete(slug);
    unexplained.delete(item);
    counted = false;
  }
  for (const card of told) {
    const item = items.get(card.slug) ?? { li: document.createElement("li") };
    if (item.mark !== card.mark) make(item, madeOf(card));
    if (item.rank !== card.rank) moved.add(item.li);
    if (item.verdict !== card.verdict) counted = false;
    items.set(card.slug, Object.assign(item, card, { part }));
  }
}

// Only what is another than before is put in its place.
function make(item, { html, cells, why }) {
  const { li } = item;
  const open = li.firstElementChild?.open;
  const anew = item.html !== html;
  if (anew) {
    li.innerHTML = html;
    li.firstElementChild.open = Boolean(open);
    item.said = null;
    item.places = li.querySelectorAll("[data-cell]");
  }
  cells.forEach((cell, at) => {
    if (!anew && cell === item.cells[at]) return;
    if (at) item.places[at].textContent = cell;
    else item.places[at].innerHTML = cell; // the bar, a picture that the server made
  });
  if (anew || item.why !== why) {
    if (!anew) li.querySelector(".why").textContent = "";
    unexplained.add(item);
  }
  Object.assign(item, { html, cells, why });
  if (open) explain(item);
}

// What is of an earlier state says so, and so does what only a quick model says.
function mark(item, { stale, screened }) {
  const said = !stale ? "" : screened && item.screened ? "quick model" : "stale";
  if (item.said === said) return;
  item.said = said;
  item.li.firstElementChild.dataset.says = said;
  if (said === "stale") turned.push([item, (item.turn = {})]);
  else show(item);
}

function pale(those) {
  for (const [item, turn] of those) if (item.turn === turn && item.said === "stale") show(item);
}

function show({ li, said }) {
  const card = li.firstElementChild;
  const words = card.querySelector(".is-stale");
  if (words.textContent === said) return;
  card.classList.toggle("stale", said === "stale");
  card.classList.toggle("screened", said === "quick model");
  words.hidden = !said;
  words.textContent = said;
}

// The others keep their order among themselves, and stay where they are.
function arrange() {
  let at = cards.firstElementChild;
  for (const { li } of [...items.values()].sort((a, b) => a.rank - b.rank)) {
    while (moved.has(at)) at = at.nextElementSibling;
    if (li === at) at = at.nextElementSibling;
    else cards.insertBefore(li, at);
  }
  moved.clear();
}

function count() {
  counted = true;
  const found = {};
  for (const { verdict } of items.values()) found[verdict] = (found[verdict] ?? 0) + 1;
  for (const each of head.querySelectorAll("[data-verdict]")) {
    const number = String(found[each.dataset.verdict] ?? 0);
    if (each.dataset.number === number) continue;
    each.dataset.number = each.querySelector("b").textContent = number;
    each.hidden = number === "0";
  }
  const none = head.querySelector(".none");
  if (none) none.hidden = items.size > 0;
}
