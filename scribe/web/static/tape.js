// Distances taken with a tape between crosses of strips: kept whole or not at all.

import { typed } from "./ask.js";
import { change } from "./change.js";
import { beside } from "./told.js";

const CROSS = /^\s*\d+\s*[ab]\s*$/i;
const field = (name) => document.getElementById(`tape-${name}`);
const cross = (name) => field(name).value.trim().replace(/\s+/g, "").toUpperCase();

document.addEventListener("submit", async (event) => {
  if (event.target.id !== "tape") return;
  event.preventDefault();
  for (const name of ["from", "to", "length"]) beside(field(name), null);
  const wrong = ["from", "to"].find((name) => !CROSS.test(field(name).value));
  if (wrong) return said(wrong, "A cross is named by its strip's number and its letter: 1A.");
  if (cross("from") === cross("to")) return said("to", "These are one and the same cross.");
  const length = typed(field("length").value);
  if (length === null || (typeof length === "number" && length <= 0)) return said("length", "Type what the tape reads, in mm.");
  const at = ["tape", Number(event.target.dataset.next)];
  const kept = await change([{ at, to: { from: cross("from"), to: cross("to"), length } }], field("length"));
  if (kept) document.getElementById("tape").reset(); // the one that was put in place meanwhile
});

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-tape-away]");
  if (button) await change([{ at: ["tape", Number(button.dataset.tapeAway)], to: null }]);
});

function said(name, words) {
  beside(field(name), words);
  field(name).focus();
}
