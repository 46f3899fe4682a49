// What was typed and isn't saved yet outlives a reload and the way back: it is kept in this tab of
// the browser, under the screen and what it is about, until the screen shows the same by itself.

import { whenFresh } from "./live.js";

const KEPT = `scribe-typed-${location.pathname}/${document.body.dataset.about}`;

let drafts = read();

function read() {
  try {
    return JSON.parse(sessionStorage.getItem(KEPT) ?? "{}");
  } catch {
    return {};
  }
}

function write() {
  try {
    if (Object.keys(drafts).length) sessionStorage.setItem(KEPT, JSON.stringify(drafts));
    else sessionStorage.removeItem(KEPT);
  } catch {
    // a browser that keeps nothing: then it lasts as long as the screen
  }
}

// Fields that are saved by themselves, and ticks, are kept elsewhere.
function ours(field) {
  if (!field.id || !field.matches("input, select")) return false;
  if (field.matches("[type=file], [data-station], [type=radio][data-at]")) return false;
  return Boolean(field.closest("main")) && (!field.dataset.at || Boolean(field.closest("[data-new=yes]")));
}

const two = (field) => field.matches("[type=radio], [type=checkbox]");
const valueOf = (field) => (two(field) ? field.checked : field.value);

function first(field) {
  if (two(field)) return field.defaultChecked;
  if (!field.matches("select")) return field.defaultValue;
  return ([...field.options].find((each) => each.defaultSelected) ?? field.options[0])?.value;
}

function noted({ target }) {
  if (!ours(target)) return;
  const group = target.matches("[type=radio]") ? document.getElementsByName(target.name) : [target];
  for (const field of group) {
    if (valueOf(field) === first(field)) delete drafts[field.id];
    else drafts[field.id] = valueOf(field);
  }
  write();
}

function restored() {
  for (const [id, value] of Object.entries(drafts)) {
    const field = document.getElementById(id);
    if (!field || !ours(field)) continue;
    if (two(field)) field.checked = value;
    else field.value = value;
    if (value === "" || value === false) continue;
    // What is filled in is seen: it counts.
    field.closest("[data-row]")?.removeAttribute("hidden");
    field.closest("details")?.setAttribute("open", "");
  }
}

// What was typed below root went into the job.
export function settled(root) {
  for (const field of root.querySelectorAll("[id]")) delete drafts[field.id];
  write();
}

document.addEventListener("input", noted);
document.addEventListener("change", noted);
document.addEventListener("reset", ({ target }) => settled(target));
whenFresh(restored);
