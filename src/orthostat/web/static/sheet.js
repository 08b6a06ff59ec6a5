// The sheet of one column: form, answers and picture together.
import { change, columnPath, news, notice, pause, printable, progress } from "./talk.js";
import { held, put } from "./findings.js";
import * as form from "./form.js";
import * as paint from "./paint.js";
import { drawScene, setScene } from "./scene.js";

const list = document.getElementById("findings");
let version = 0;
let sceneOf = "";
let seeing = null;
let drawn = "";
let beyond = false; // the first design
let stilling = 0;
let next = null;
let turn = 0; // of the pictures, in the order in which they were asked for
let shownTurn = 0;
let wake = () => {};

form.start(columnPath(), shown, tried, look, asked);
printable();
follow();
drawScene(document.getElementById("scene"));
paint.start(columnPath("/picture"), form.revision);
list.addEventListener("click", worked);

// After a change was made (or `null` when an entry was taken back).
function shown(answer, looked) {
  if (!answer) return void restore();
  picture(looked);
  wake();
}

function tried(answer, turn) {
  if (answer.faults) form.showFaults(answer.faults);
  if (answer.echoes) form.showEchoes(answer.echoes);
  put(answer);
  list.dataset.turn = turn; // whose answers these are
  if (answer.scene) show(answer.scene, turn);
}

// What is asked for with a key: the cards that are not there yet, and the picture, which comes after the foremost
// verdicts. What is painted on the saved design stays on it meanwhile.
function asked() {
  return { held: held(), picture: !paint.isOn(), turn: (turn += 1) };
}

async function restore() {
  form.showFaults({});
  see(() => news(columnPath("/scene")));
  const answer = await news(columnPath("/answers?after=0"));
  if (form.isBusyTyping()) return;
  version = answer.version;
  put(answer);
}

async function follow() {
  for (;;) {
    if (form.isBusyTyping()) {
      await pause(250);
      continue;
    }
    try {
      const answer = await news(columnPath(`/answers?after=${version}`));
      if (answer.parts && !form.isBusyTyping()) {
        version = answer.version;
        put(answer);
      }
      for (const news of answer.running ?? []) progress(list.querySelector(`.working [data-subject="${CSS.escape(news.subject)}"]`), news);
      if (answer.of !== form.revision() && !form.isBusyTyping()) await form.reload();
      picture();
      // A browser opens few connections to one server: ask and go, never wait there.
      if (!answer.more) await Promise.race([pause(document.hidden ? 3000 : answer.settled ? 900 : 250), new Promise((done) => (wake = done))]);
    } catch (error) {
      if (error.status === 404) return notice([error.message]);
      await pause(3000);
    }
  }
}

// The picture of the saved design; `looked`: that of the same edits, asked for while they were being saved.
async function picture(looked) {
  if (sceneOf === form.revision()) return;
  const of = (sceneOf = form.revision());
  paint.changed();
  if (!(await looked)?.pieces && !(await see(() => news(columnPath("/scene")))) && sceneOf === of) sceneOf = "";
  if (beyond) clearTimeout(stilling);
  if (beyond) stilling = setTimeout(still, 1000);
  beyond = true;
}

// The line picture, for paper and where there is no 3D: the page came with that of its first design.
async function still() {
  const came = await news(columnPath("/still")).catch(() => null);
  if (came?.svg) document.getElementById("still").innerHTML = came.svg;
}

// The picture of edits that are being saved.
function look(request) {
  return see(() => change(columnPath("/scene"), request));
}

// One question at a time, and only the newest is drawn; nothing comes back where there was no answer.
function see(question) {
  next = { question, turn: (turn += 1) };
  return (seeing ??= drawNext());
}

async function drawNext() {
  let scene = null;
  while (next) {
    const { question, turn } = next;
    next = null;
    scene = await question().catch(() => null);
    if (!next && scene?.pieces) show(scene, turn);
  }
  seeing = null;
  return scene;
}

function show(scene, turn) {
  if (turn < shownTurn) return;
  shownTurn = turn;
  document.getElementById("scene-words").textContent = scene.words;
  const now = JSON.stringify(scene);
  if (now !== drawn) setScene(scene);
  drawn = now;
}

async function worked(event) {
  const button = event.target.closest("button[data-work]");
  if (button) await change(columnPath("/work"), { do: button.dataset.work, subject: button.dataset.subject });
}
