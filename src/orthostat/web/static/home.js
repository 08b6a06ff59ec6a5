// The columns of the shop: copying one.
import { change, notice } from "./talk.js";

for (const adder of document.querySelectorAll("form.copy")) {
  adder.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      const answer = await change("/copy", { from: adder.dataset.from, name: adder.elements.name.value });
      location.assign(answer.go);
    } catch (error) {
      notice([error.message]);
    }
  });
}
