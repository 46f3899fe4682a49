// The server draws the screens; when something changed, the parts marked data-live are fetched
// again and put in place, and whatever had the focus keeps it.

import { job } from "./ask.js";

const after = new Set();
let running = null;
let again = false;

// What the server drew first: a part in which only the browser changed something stays as it is.
for (const part of document.querySelectorAll("[data-live]")) part.dataset.was = part.innerHTML;

// then() is called whenever parts were put in place, and once at the beginning.
export function whenFresh(then) {
  after.add(then);
  then();
}

export async function refresh() {
  if (running) {
    again = true;
    return running;
  }
  running = fetched().finally(() => {
    running = null;
  });
  await running;
  if (again) {
    again = false;
    await refresh();
  }
}

async function fetched() {
  let text;
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" }, cache: "no-store" });
    if (!answer.ok) return;
    text = await answer.text();
  } catch {
    return; // the line of the state says so already
  }
  const fresh = new DOMParser().parseFromString(text, "text/html");
  if (fresh.body.dataset.version) job.version = fresh.body.dataset.version;
  placed(fresh);
  after.forEach((then) => then());
}

function placed(fresh) {
  const focused = document.activeElement?.id;
  const said = document.getElementById("state")?.textContent;
  for (const old of document.querySelectorAll("[data-live]")) {
    const now = fresh.getElementById(old.id);
    if (!now || now.innerHTML === old.dataset.was) continue;
    old.dataset.was = now.innerHTML;
    if (old.innerHTML !== now.innerHTML) old.replaceChildren(...document.importNode(now, true).childNodes);
  }
  for (const field of document.querySelectorAll("[data-at][id]")) follow(field, fresh.getElementById(field.id));
  const line = document.getElementById("state");
  if (line && said) line.textContent = said;
  if (focused && document.activeElement?.id !== focused) document.getElementById(focused)?.focus();
}

// A field shows what another window made of it, unless somebody is at it here.
function follow(field, now) {
  if (!now || field === document.activeElement) return;
  if (field.matches("[type=radio], [type=checkbox]")) field.checked = now.checked;
  else if (field.matches("select")) field.value = now.value;
  else if (field.value !== now.value && !field.hasAttribute("aria-invalid")) field.value = now.value;
}
