// Book and files: begun, watched and stopped; links only to files of the design as it is.
import { change, columnPath, news, notice, pause, progress } from "./talk.js";

const box = document.getElementById("files");
let seen = "";
let wake = () => {};

box.addEventListener("submit", (event) => {
  event.preventDefault();
  send({ do: "make", paper: event.target.elements.paper.value });
});
box.addEventListener("click", (event) => {
  if (event.target.dataset.do === "stop") send({ do: "stop" });
});
follow();

async function send(body) {
  try {
    await change(columnPath("/files"), body);
  } catch (error) {
    notice([error.message]);
  }
  wake();
}

async function follow() {
  for (;;) {
    let busy = false;
    try {
      const answer = await news(columnPath(`/files?seen=${encodeURIComponent(seen)}`));
      if (answer.html !== undefined) put(answer.html);
      seen = answer.sign;
      busy = answer.busy;
      if (answer.running) progress(box, answer.running);
      box.removeAttribute("aria-busy");
    } catch (error) {
      if (error.status === 404) return;
    }
    await Promise.race([pause(document.hidden ? 10000 : busy ? 250 : 2000), new Promise((done) => (wake = done))]);
  }
}

function put(html) {
  const open = box.querySelector("details")?.open;
  const active = box.contains(document.activeElement);
  box.innerHTML = html;
  const details = box.querySelector("details");
  if (details && open) details.open = true;
  if (active) box.querySelector("a.button, button")?.focus({ preventScroll: true });
}
