// Saved states: bringing one back.
import { change, notice } from "./talk.js";

const states = document.querySelector(".states");
states?.addEventListener("click", async (event) => {
  const button = event.target.closest("button[data-state]");
  if (!button) return;
  try {
    const answer = await change(`${states.dataset.base}/restore`, { state: button.dataset.state, revision: states.dataset.revision });
    location.assign(answer.go);
  } catch (error) {
    notice([error.message], [], [["load this page again", () => location.reload()]]);
  }
});
