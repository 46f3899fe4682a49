// What every screen of a job does: undo, what runs, the state of the line, pages for later.

import { Refusal, ask, job } from "./ask.js";
import { anythingKept, sendKept } from "./change.js";
import "./drafts.js";
import { refresh, whenFresh } from "./live.js";
import { state, tell, untell } from "./told.js";
import { sendTicks } from "./ticks.js";

const finished = new Set();
const awaited = new Set(); // work that was seen running

// then(work) is called when a piece of work ends, well or not.
export const whenDone = (then) => finished.add(then);

export async function attempt(act) {
  try {
    const told = await act();
    untell();
    return told;
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    tell(refusal.error);
    return null;
  }
}

export async function begin(work) {
  const told = await attempt(() => ask("POST", `${job.root}/works`, work));
  await refresh();
  return told?.work ?? null;
}

async function turnBack(which) {
  const told = await attempt(() => ask("POST", `${job.root}/${which}`));
  if (told) location.reload();
}

function followWork() {
  const events = new EventSource(`${job.root}/events`);
  events.addEventListener("open", async () => {
    document.body.classList.remove("alone");
    if (anythingKept()) await sendKept();
    await sendTicks();
    state("Saved");
  });
  events.addEventListener("error", () => {
    document.body.classList.add("alone");
    state("No connection");
  });
  events.addEventListener("work", (event) => {
    const work = JSON.parse(event.data).work ?? JSON.parse(event.data);
    const place = document.querySelector(`[data-work="${CSS.escape(work.id)}"]`);
    const running = work.state === "waiting" || work.state === "running";
    const said = place?.querySelector("[data-said]");
    if (said && work.said.length) said.textContent = work.said.at(-1);
    if (running && place) {
      awaited.add(work.id);
    } else if (running || place || awaited.delete(work.id)) {
      if (running) awaited.add(work.id);
      refresh().then(() => running || finished.forEach((then) => then(work)));
    }
  });
  events.addEventListener("job", (event) => {
    if (JSON.parse(event.data).version !== job.version) refresh();
  });
  window.addEventListener("pagehide", () => events.close());
}

function bindTop() {
  document.addEventListener("click", async ({ target }) => {
    const button = target.closest("button");
    if (!button) return;
    if (button.id === "undo" || button.id === "redo") await turnBack(button.id);
    if (button.dataset.stop) {
      button.disabled = true;
      button.textContent = "Stopping ...";
      await attempt(() => ask("DELETE", `${job.root}/works/${button.dataset.stop}`));
      await refresh();
    }
  });
  document.addEventListener("keydown", (event) => {
    const writing = event.target.matches?.("input:not([type=checkbox], [type=radio]), textarea");
    if (writing || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
    event.preventDefault();
    document.getElementById(event.shiftKey ? "redo" : "undo")?.click();
  });
}

function keepPages() {
  // On plain http from another machine browsers have no service workers: the page then needs
  // the machine, and what was typed waits in this browser.
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
}

if (job.id) {
  bindTop();
  followWork();
  // On the way back a browser may show the screen as it was left: it follows what goes on again.
  window.addEventListener("pageshow", ({ persisted }) => {
    if (!persisted) return;
    followWork();
    refresh();
  });
  whenFresh(() => document.querySelectorAll("time[datetime]").forEach(dated));
}
// A length that names its unit isn't called one of mm beside it.
function unit(input) {
  const words = input.parentElement.querySelector("span");
  words.hidden = /[a-z"']/i.test(input.value);
}
const lengths = () => document.querySelectorAll(".unit > input");
document.addEventListener("input", ({ target }) => target.matches(".unit > input") && unit(target));
whenFresh(() => lengths().forEach(unit));

// A form that was sent before its script listens would be lost: its button waits for that.
whenFresh(() => document.querySelectorAll("[data-wakes]").forEach((each) => (each.disabled = false)));
keepPages();
// Photos that were chosen before the screen's script listened are taken as soon as it does.
setTimeout(() => {
  for (const input of document.querySelectorAll("input[type=file]")) {
    if (input.files.length) input.dispatchEvent(new Event("change", { bubbles: true }));
  }
});

export function dated(time) {
  const when = new Date(time.dateTime);
  if (Number.isNaN(when.valueOf())) return;
  time.textContent = when.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
