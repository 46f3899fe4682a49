// Distances taken with a tape between crosses of strips: kept whole or not at all.

import { typed } from "./ask.js";
import { change } from "./change.js";
import { beside } from "./told.js";

const CROSS = /^\s*\d+\s*[ab]\s*$/i;
const field = (name) => document.getElementById(`tape-${name}`);

export const cross = (input) => input.value.trim().replace(/\s+/g, "").toUpperCase();

// What is wrong with the two crosses, as [field, words]; null when nothing is.
export function crossFault(from, to) {
  const wrong = [from, to].find((each) => !CROSS.test(each.value));
  if (wrong) return [wrong, "A cross is named by its strip's number and its letter: 1A."];
  return cross(from) === cross(to) ? [to, "These are one and the same cross."] : null;
}

document.addEventListener("submit", async (event) => {
  if (event.target.id !== "tape") return;
  event.preventDefault();
  const [from, to, length, U] = ["from", "to", "length", "U"].map(field);
  beside(from, null);
  const wrong = crossFault(from, to) ?? lengthFault(length) ?? (U.value.trim() ? lengthFault(U) : null);
  if (wrong) {
    beside(...wrong);
    wrong[0].focus();
    return;
  }
  const at = ["tape", Number(event.target.dataset.next)];
  const more = typed(U.value) === null ? {} : { U: typed(U.value) };
  const reading = { outline: event.target.dataset.outline, from: cross(from), to: cross(to), length: typed(length.value), ...more };
  const kept = await change([{ at, to: reading }], length);
  if (kept) document.getElementById("tape").reset(); // the one that was put in place meanwhile
});

function lengthFault(input) {
  const value = typed(input.value);
  const wrong = value === null || (typeof value === "number" ? value <= 0 : !/\d/.test(value));
  return wrong ? [input, "Type what the tape reads, in mm."] : null;
}

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-tape-away]");
  if (button) await change([{ at: ["tape", Number(button.dataset.tapeAway)], to: null }]);
});
