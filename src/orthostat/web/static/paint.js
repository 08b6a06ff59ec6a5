// What may be laid over the picture: painted faces, swinging modes, the tool at a cut. Chosen here, asked of the
// server, said in words, and moved to and fro; `painted.js` draws it.
import { news } from "./talk.js";
import { bend, lay } from "./painted.js";
import { whenStaged } from "./scene.js";

const PERIOD = 1800;
const FRAME = 33;
const by = (id) => document.getElementById(id);

let path = "";
let revision = () => "";
let stage = null;
let answer = null;
let asking = false;
let again = false;
let known = "";
let playing = false;
let began = 0;
let shownAt = 1;

export function start(where, current) {
  path = where;
  revision = current;
  for (const id of ["paint", "paint-of", "paint-loaded", "tool-cut", "tool-place"]) by(id).addEventListener("change", () => chosen(id));
  for (const id of ["paint", "paint-of", "tool-cut"]) by(id).addEventListener("focus", refresh);
  by("paint-play").addEventListener("click", () => play(!playing));
  matchMedia("(prefers-reduced-motion: reduce)").addEventListener("change", (event) => event.matches && play(false));
  whenStaged((made) => {
    stage = made;
    if (answer) draw();
  });
  ask();
}

// The design was changed: what is shown is of the one before, until the new answer is there.
export function changed() {
  if (!wanted()) return;
  const old = known !== revision();
  stale(old);
  if (old) ask();
}

export function isOn() {
  return Boolean(wanted());
}

function wanted() {
  return by("paint").value || by("tool-cut").value;
}

function refresh() {
  if (known !== revision()) ask();
}

function chosen(id) {
  if (id === "paint") {
    by("paint-of").replaceChildren();
    by("paint-of").value = "";
  }
  if (id === "tool-cut") by("tool-place").replaceChildren();
  const paint = by("paint").value;
  by("paint-of-label").hidden = !paint;
  by("paint-loaded-label").hidden = paint !== "reach";
  if (id === "paint") options(by("paint-of"), answer?.choices?.[paint] ?? []);
  play(false);
  ask();
}

// One question at a time; whatever was chosen meanwhile is asked next.
async function ask() {
  again = asking;
  if (asking) return;
  asking = true;
  busy(true);
  do {
    again = false;
    const asked = new URLSearchParams({
      paint: by("paint").value,
      of: by("paint-of").value,
      loaded: by("paint-loaded").checked ? "1" : "",
      cut: by("tool-cut").value,
      place: by("tool-place").value,
    });
    try {
      const came = await news(`${path}?${asked}`);
      if (!again) put(came);
    } catch (error) {
      if (!again) say([error.message]);
    }
  } while (again);
  asking = false;
  busy(false);
}

function put(came) {
  if (came.unreadable) return stale(true, "The design can't be read as it stands; this is of its last good state.");
  known = came.of;
  answer = came;
  const paint = by("paint").value;
  options(by("paint-of"), came.choices?.[paint] ?? []);
  options(by("tool-cut"), [{ group: "", options: [["", "no cut"]] }, ...(came.choices?.cuts ?? [])]);
  places(came.tool);
  by("paint-play").hidden = !came.painting?.swings || !stage;
  const legend = by("legend");
  legend.innerHTML = (came.painting?.legend ?? "") + (came.tool?.legend ?? "");
  legend.hidden = !legend.childElementCount;
  if (stage) stage.aside = legend.offsetWidth;
  words(came);
  stale(came.of !== revision());
  draw();
  if (came.painting?.swings && stage && !playing && !matchMedia("(prefers-reduced-motion: reduce)").matches) play(true);
  document.body.dataset.painted = [came.painting?.kind, came.tool && "tool"].filter(Boolean).join(" ") || "nothing";
}

function words(came) {
  const box = by("painted");
  box.innerHTML = (came.painting?.words ?? "") + (came.tool?.words ?? "");
  for (const line of came.unknown ?? []) box.prepend(made("p", line));
  box.hidden = !box.childElementCount;
  by("scene-words").hidden = !box.hidden;
}

function say(lines) {
  by("painted").hidden = false;
  by("painted").replaceChildren(...lines.map((line) => made("p", line)));
}

function made(tag, text, kind = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  element.className = kind;
  return element;
}

function options(select, groups) {
  const was = select.value;
  const all = groups.flatMap((each) => each.options);
  const now = JSON.stringify(groups);
  if (select.dataset.made !== now || !select.childElementCount) {
    select.dataset.made = now;
    select.replaceChildren(...groups.flatMap(grouped));
  }
  select.value = all.some(([value]) => value === was) ? was : (all[0]?.[0] ?? "");
}

function grouped({ group, options: members }) {
  const inside = members.map(([value, text]) => {
    const option = made("option", text);
    option.value = value;
    return option;
  });
  if (!group) return inside;
  const box = document.createElement("optgroup");
  box.label = group;
  box.append(...inside);
  return [box];
}

function places(tool) {
  by("tool-place-label").hidden = !tool || tool.places.length < 2;
  options(by("tool-place"), tool ? [{ group: "", options: tool.places.map((name, k) => [String(k), name]) }] : []);
  if (tool) by("tool-place").value = String(tool.place);
}

function busy(on) {
  by("scene").setAttribute("aria-busy", String(Boolean(on && wanted())));
}

function stale(on, why = "This is of the design before your last change; the new one is being worked out.") {
  const shown = answer && (answer.painting || answer.tool);
  const old = Boolean(on && shown);
  for (const id of ["legend", "painted"]) {
    by(id).classList.toggle("stale", old);
    by(id).querySelector(".is-stale")?.remove();
    if (!old) continue;
    const mark = made("p", "stale", "is-stale");
    mark.title = why;
    if (id === "painted") mark.append(`: ${why}`);
    by(id).prepend(mark);
  }
  if (!stage) return;
  for (const each of [...stage.painted.children, ...stage.tool.children]) {
    each.material.transparent = old || each.userData.clear || each.isSprite;
    each.material.opacity = (old ? 0.35 : 1) * (each.userData.opacity ?? 1);
  }
  stage.draw();
}

function draw() {
  if (stage) lay(stage, answer, shownAt);
}

// ---- to and fro

function move(share) {
  shownAt = share;
  bend(share);
}

function play(on) {
  const button = by("paint-play");
  const starts = on && !playing;
  playing = on;
  button.textContent = on ? "Pause" : "Play";
  button.setAttribute("aria-label", on ? "Stop the mode where it is most bent" : "Let the mode swing");
  document.body.dataset.swinging = String(on);
  if (starts) {
    began = performance.now();
    requestAnimationFrame(swing);
  } else if (!on && stage) {
    move(1);
    stage.draw();
  }
}

let frame = 0;

function swing(now) {
  if (!playing || !stage) return;
  requestAnimationFrame(swing);
  if (now - frame < FRAME - 4) return;
  frame = now;
  move(Math.cos(((now - began) * 2 * Math.PI) / PERIOD));
  stage.now();
}
