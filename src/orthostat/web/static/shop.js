// A page of the shop's own document.
import * as form from "./form.js";

form.start("/shop", () => {});
