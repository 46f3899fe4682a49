// What was typed on the form of a check, as the server wants it: texts, which it reads as lengths.
// What is plainly wrong is said beside its field.

import { typed } from "./ask.js";
import { crossFault, cross } from "./tape.js";
import { beside } from "./told.js";

const by = (id) => document.getElementById(id);
const ROWS = 6;

// Fields of one length each, and what the server calls them.
const LENGTHS = { height: "check-height", filler: "check-filler", shift: "check-shift", turn: "check-turn" };

export const fieldOf = (where) => by(LENGTHS[where] ?? { widths: "width-at-1", tapes: "check-tape-1-length" }[where] ?? "");

// A length has a figure in it; how it is written, the server knows better.
const odd = (value) => typeof value === "string" && !/\d/.test(value);

// {height, filler, shift, turn}, those that were filled in; null where one makes no sense.
export function lengths(names) {
  const found = {};
  for (const name of names) {
    const field = by(LENGTHS[name]);
    const value = typed(field.value);
    const wrong = odd(value) || (typeof value === "number" && value < 0) ? "Give it in mm, 0 or more." : null;
    beside(field, wrong);
    if (wrong) return shown(field);
    if (value !== null) found[name] = value;
  }
  return found;
}

// Pairs of station and width; null where one is amiss.
export function widths() {
  const found = [];
  for (let n = 1; n <= ROWS; n += 1) {
    const [at, is] = [by(`width-at-${n}`), by(`width-is-${n}`)];
    const pair = [typed(at.value), typed(is.value)];
    const empty = pair.every((each) => each === null);
    const wrong = !empty && pair.some((each) => each === null || odd(each)) ? "A width needs its station and the width there." : null;
    beside(at, wrong);
    if (wrong) return shown(pair[0] === null ? at : is);
    if (!empty) found.push(pair);
  }
  return found;
}

// Readings of a tape, [from, to, length] or [from, to, length, U]; null where one is amiss.
export function tapes() {
  const found = [];
  for (const row of document.querySelectorAll("[data-row=tape]")) {
    const [from, to, length, U] = row.querySelectorAll("input");
    const values = [typed(length.value), typed(U.value)];
    if (![from, to, length, U].some((each) => each.value.trim())) continue;
    const wrong = crossFault(from, to) ?? (values[0] === null || values.some(odd) ? [length, "Type what the tape reads, in mm."] : null);
    beside(from, wrong?.[1] ?? null);
    if (wrong) return shown(wrong[0]);
    found.push([cross(from), cross(to), ...values.filter((each) => each !== null).map(String)]);
  }
  return found;
}

// Gaps felt at the stations of an edge; null where one is amiss.
export function gaps(edge) {
  const fields = [...document.querySelectorAll(`[data-felt="${CSS.escape(edge)}"] [data-gap]`)];
  const found = [];
  for (const field of fields) {
    const gap = typed(field.value);
    const wrong = odd(gap) || (typeof gap === "number" && gap < 0) ? `At station ${field.dataset.gap}: give the gap in mm, 0 where it touches.` : null;
    beside(field, wrong);
    if (wrong) return shown(field);
    if (gap !== null) found.push([Number(field.dataset.gap), gap]);
  }
  if (found.length >= 2) return found;
  beside(fields[0], "Feel the gap at two stations at least.");
  return shown(fields[0]);
}

function shown(field) {
  field.closest("details")?.setAttribute("open", "");
  field.focus();
  return null;
}

document.addEventListener("click", ({ target }) => {
  const which = target.closest("[data-more]")?.dataset.more;
  if (!which) return;
  const rows = [...document.querySelectorAll(`[data-row=${which}]`)];
  const next = rows.find((row) => row.hidden);
  if (!next) return;
  next.hidden = false;
  next.querySelector("input").focus();
  target.closest("button").hidden = next === rows.at(-1);
});
