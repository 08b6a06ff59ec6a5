// The guided start: shows the questions that arise, sends the answers.
import { change } from "./talk.js";

const form = document.getElementById("start");
const touched = new Set();

function arrange() {
  for (const each of form.querySelectorAll("[data-when]")) {
    const [key, values] = each.dataset.when.split("=");
    const asker = form.elements[key];
    each.hidden = !values.split("|").includes(asker.value) || asker.closest("[data-question]").hidden;
  }
}

form.addEventListener("input", (event) => {
  touched.add(event.target.name);
  arrange();
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  for (const each of form.querySelectorAll(".fault")) each.textContent = "";
  let answer;
  try {
    answer = await change("/start", { answers: Object.fromEntries(new FormData(form)), touched: [...touched] });
  } catch (error) {
    document.getElementById("fault").textContent = error.message;
    return;
  }
  if (answer.go) return location.assign(answer.go);
  let first = null;
  for (const [id, words] of Object.entries(answer.faults)) {
    const place = document.getElementById(`q-${id}-fault`) ?? document.getElementById("fault");
    place.textContent = words;
    const entry = document.getElementById(`q-${id}`);
    entry?.setAttribute("aria-invalid", "true");
    first ??= entry;
  }
  first?.focus();
});

arrange();
