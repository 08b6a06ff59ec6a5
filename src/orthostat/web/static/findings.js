// The list of findings: cards come as they change, and only what changed is put in its place.
const list = document.getElementById("findings");
const head = document.createElement("div");
const cards = document.createElement("ol");
cards.className = "findings";
const items = new Map(); // by slug: the item, what it was made of, and the part it belongs to
const SOON = 120; // most answers come within so long [ms]; what does is not paled and brought back
const turned = []; // what is of an earlier state since just now
const moved = new Set(); // items whose place in the list is another, or that are new
const parts = new Map(); // what was last told of each part
const MANY = 2000;
let made = new Map(); // HTML of cards by their marks, so that what was shown before need not be sent again
let before = new Map();

export function put(answer) {
  if (!head.isConnected) list.replaceChildren(head, cards);
  const active = list.contains(document.activeElement) ? document.activeElement : null;
  const slug = active?.closest("[data-slug]")?.dataset.slug;
  const button = active?.dataset.work && active.dataset.subject;
  if (head.dataset.made !== answer.head) {
    head.dataset.made = answer.head;
    head.innerHTML = answer.head;
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
  count();
  if (active && !active.isConnected) {
    const again = button ? head.querySelector(`button[data-subject="${CSS.escape(button)}"]`) : items.get(slug)?.li.querySelector("summary");
    again?.focus({ preventScroll: true });
  }
  list.removeAttribute("aria-busy");
}

// The cards that are shown: what comes again needs no HTML.
export function held() {
  if (made.size > MANY) [before, made] = [made, new Map()];
  for (const { mark, html } of items.values()) made.set(mark, html);
  return Object.fromEntries([...items].map(([slug, { mark }]) => [slug, mark]));
}

function htmlOf({ mark, html }) {
  if (html !== undefined) made.set(mark, html);
  return html ?? made.get(mark) ?? before.get(mark);
}

function renew(part, told) {
  const kept = new Set(told.map((card) => card.slug));
  for (const [slug, item] of items) {
    if (item.part !== part || kept.has(slug)) continue;
    item.li.remove();
    items.delete(slug);
  }
  for (const card of told) {
    const item = items.get(card.slug) ?? { li: document.createElement("li") };
    const html = htmlOf(card);
    if (item.mark !== card.mark) {
      const open = item.li.firstElementChild?.open;
      item.li.innerHTML = html;
      if (open) item.li.firstElementChild.open = true;
      item.said = null;
    }
    if (item.rank !== card.rank) moved.add(item.li);
    items.set(card.slug, Object.assign(item, card, { html, part }));
  }
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
