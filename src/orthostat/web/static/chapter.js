// Parts that take a while: worked out beside the page, shown when they are ready, watched and stopped meanwhile.
import { change, columnPath, news, pause, printable, progress } from "./talk.js";

printable();
document.querySelector(".line [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
for (const box of document.querySelectorAll("[data-from]")) fill(box, false);
if (document.getElementById("chapter")) watch(document.getElementById("chapter"));

async function fill(box, again) {
  box.setAttribute("aria-busy", "true");
  let from = box.dataset.from;
  if (again) from += `${from.includes("?") ? "&" : "?"}again=1`;
  try {
    for (;;) {
      const answer = await news(from);
      from = box.dataset.from;
      if (answer.working) {
        working(box, answer);
        await pause(document.hidden ? 2000 : 250);
        continue;
      }
      box.innerHTML = answer.html ?? '<p class="says">Stopped.</p>';
      box.dataset.state = answer.state ?? "";
      if (answer.over) box.append(button("work it out", () => fill(box, true)));
      break;
    }
  } catch (error) {
    box.textContent = error.message;
  }
  box.classList.remove("stale");
  box.removeAttribute("aria-busy");
}

function working(box, answer) {
  if (box.querySelector(".job")?.dataset.job !== answer.job) {
    box.innerHTML = '<p class="says">Working it out …</p><p class="job"><progress></progress><span class="doing"></span><span class="spent"></span></p>';
    const job = box.querySelector(".job");
    job.dataset.job = answer.job;
    job.querySelector("progress").setAttribute("aria-label", answer.job);
    job.append(button("stop", () => change("/stop", { job: answer.job })));
  }
  progress(box, answer.working.waiting ? { ...answer.working, doing: "waiting for what was asked before" } : answer.working);
}

// What was worked out of an earlier state of the design says so.
async function watch(box) {
  for (;;) {
    await pause(document.hidden ? 10000 : 2000);
    if (!box.dataset.state || box.hasAttribute("aria-busy") || box.classList.contains("stale")) continue;
    let now;
    try {
      now = await news(columnPath("/state"));
    } catch (error) {
      if (error.status === 404) return;
      continue;
    }
    if (now.state === box.dataset.state || box.hasAttribute("aria-busy")) continue;
    box.classList.add("stale");
    const said = document.createElement("p");
    said.className = "is-earlier";
    said.setAttribute("role", "status");
    said.append("This is of an earlier state: the design has changed. ", button("show it as it is now", () => fill(box, false)));
    box.prepend(said);
  }
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}
