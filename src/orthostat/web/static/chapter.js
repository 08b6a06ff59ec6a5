// Parts that take a while: worked out beside the page, shown when they are ready.
import { news, printable } from "./talk.js";

printable();
document.querySelector(".line [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
for (const box of document.querySelectorAll("[data-from]")) fill(box);

async function fill(box) {
  try {
    box.innerHTML = (await news(box.dataset.from)).html;
  } catch (error) {
    box.textContent = error.message;
  }
  box.removeAttribute("aria-busy");
}
