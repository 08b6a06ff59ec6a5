// A chapter: worked out beside the page, shown when it is ready.
import { columnPath, news, printable } from "./talk.js";

const box = document.getElementById("chapter");
printable();
try {
  const answer = await news(columnPath(`/chapter/${box.dataset.chapter}/content`));
  box.innerHTML = answer.html;
} catch (error) {
  box.textContent = error.message;
}
box.removeAttribute("aria-busy");
