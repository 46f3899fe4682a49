// The outline's screen: the stage, the tools, and what the machine answers to a correction.

import { Refusal, ask, job } from "./ask.js";
import { refresh } from "./live.js";
import { attempt, begin, whenDone } from "./page.js";
import { Stage } from "./stage.js";
import { made, state, tell, untell } from "./told.js";
import { clear, toolsOf } from "./tools.js";

const sighted = document.getElementById("sighted");
const name = sighted?.dataset.outline;
const root = `${job.root}/outlines/${encodeURIComponent(name)}`;

let stage = null;
let tools = {};

async function load() {
  let sight;
  try {
    sight = await ask("GET", `${root}/sight`);
  } catch (refusal) {
    if (refusal instanceof Refusal && refusal.status === 404) return;
    throw refusal;
  }
  sighted.hidden = false;
  document.getElementById("tools").hidden = false;
  if (stage) stage.replace(sight);
  else {
    stage = new Stage(document.getElementById("stage"), sight);
    tools = toolsOf(stage, send, acts);
    for (const tool of Object.values(tools)) tool.say = say;
    bind();
  }
  take("look");
}

const say = (words) => {
  document.getElementById("tool-help").textContent = words;
};

function acts(list) {
  const place = document.getElementById("tool-acts");
  place.replaceChildren(
    ...list.map(([words, then, main]) =>
      made("button", { type: "button", text: words, className: main ? "main-act" : "", onclick: then }),
    ),
  );
  place.hidden = !list.length;
}

function take(which) {
  const tool = tools[which];
  clear(stage, acts);
  tool.begin?.();
  stage.tool = tool;
  stage.element.dataset.tool = which;
  stage.element.classList.toggle("aiming", Boolean(tool.aim));
  stage.handles.replaceChildren(...(tool.handles?.() ?? []));
  stage.draw();
  say(tool.help);
  for (const button of document.querySelectorAll("[data-tool]")) {
    if (button.matches("button")) button.setAttribute("aria-pressed", String(button.dataset.tool === which));
  }
}

async function send(correction) {
  acts([]);
  state("Saving ...");
  sighted.setAttribute("aria-busy", "true");
  try {
    await ask("POST", `${root}/corrections`, correction);
    untell();
    state("Saved");
    await refresh();
    if (correction.do !== "ends" && correction.do !== "near") {
      const which = stage.element.dataset.tool;
      await load();
      take(which);
    }
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    state("Not saved");
    tell(refusal.error);
    clear(stage, acts);
  } finally {
    sighted.removeAttribute("aria-busy");
  }
}

function bind() {
  document.querySelectorAll("button[data-tool]").forEach((button) => {
    button.addEventListener("click", () => take(button.dataset.tool));
  });
  document.getElementById("nearer").addEventListener("click", () => stage.zoom(1.6));
  document.getElementById("farther").addEventListener("click", () => stage.zoom(1 / 1.6));
  document.getElementById("whole").addEventListener("click", () => stage.show(stage.drawn));
  stage.element.addEventListener("keydown", (event) => {
    if (event.target === stage.element && stage.tool.key?.(event)) event.preventDefault();
  });
}

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("button");
  if (button?.id === "trace") {
    button.disabled = true;
    await begin({ do: "trace", outline: name });
    button.disabled = false;
  }
  if (button?.id === "forget" && (await attempt(() => ask("POST", `${root}/corrections`, { do: "forget" })))) {
    await refresh();
    await load();
  }
});

whenDone(async (work) => {
  if ((work.do === "trace" || work.do === "look") && work.state === "done") await load();
});

async function start() {
  await load();
  // What is not traced yet, or was traced from something else, is traced without being asked.
  if (document.getElementById("trace")?.dataset.auto === "yes") await begin({ do: "trace", outline: name });
}

if (name) start();
