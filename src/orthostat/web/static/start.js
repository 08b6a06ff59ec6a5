// The guided start: shows the questions that arise, what is wrong with an answer, and sends the answers.
import { change, Refused } from "./talk.js";

const form = document.getElementById("start");
const touched = new Set();
const left = new Set();

function arrange() {
  for (const each of form.querySelectorAll("[data-when]")) {
    each.hidden = each.dataset.when.split(" & ").some((wanted) => {
      const [key, values] = wanted.split("=");
      const asker = form.elements[key];
      return !values.split("|").includes(asker.value) || asker.closest("[data-question]").hidden;
    });
  }
}

function answers(more) {
  return { answers: Object.fromEntries(new FormData(form)), touched: [...touched], units: form.dataset.units, ...more };
}

// Faults by question, beneath their fields; those of no field stand at the end.
function blame(faults, wanted = () => true) {
  for (const each of form.querySelectorAll(".fault")) each.textContent = "";
  for (const each of form.querySelectorAll("[aria-invalid]")) each.removeAttribute("aria-invalid");
  for (const [id, words] of Object.entries(faults).filter(([id]) => wanted(id))) {
    (document.getElementById(`q-${id}-fault`) ?? document.getElementById("fault")).textContent = words;
    document.getElementById(`q-${id}`)?.setAttribute("aria-invalid", "true");
  }
}

// What was answered is looked at when its field is left: the other units, and faults of fields left so far.
let looks = 0;

async function look() {
  const mine = (looks += 1);
  try {
    const said = await change("/start", answers({ look: true }));
    if (mine !== looks) return;
    for (const each of form.querySelectorAll("[data-question]")) {
      each.querySelector(".other").textContent = said.echoes[each.dataset.question] ?? "";
    }
    blame(said.faults, (id) => left.has(id));
  } catch (error) {
    if (!(error instanceof Refused)) throw error; // it is said when the answers are sent
  }
}

form.addEventListener("input", (event) => {
  touched.add(event.target.name);
  arrange();
});

form.addEventListener("change", (event) => {
  left.add(event.target.name);
  look();
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  looks += 1;
  let answer;
  try {
    answer = await change("/start", answers({}));
  } catch (error) {
    document.getElementById("fault").textContent = error.message;
    return;
  }
  if (answer.go) return location.assign(answer.go);
  for (const id of Object.keys(answer.faults)) left.add(id);
  blame(answer.faults);
  form.querySelector("[aria-invalid]")?.focus();
});

arrange();
look();
