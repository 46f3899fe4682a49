// The outline's screen: the stage, the tools, and what the machine answers to a correction.

import { Refusal, ask, job } from "./ask.js";
import { refresh, whenFresh } from "./live.js";
import { attempt, begin, whenDone } from "./page.js";
import { Stage } from "./stage.js";
import { made, state, tell, untell } from "./told.js";
import { clear, toolsOf } from "./tools.js";

const sighted = document.getElementById("sighted");
const name = sighted?.dataset.outline;
const root = `${job.root}/outlines/${encodeURIComponent(name)}`;

const turner = document.getElementById("turner");

let stage = null;
let sight = null;
let tools = {};
let loaded = ""; // the job's version that the sight is of
let loading = null;

// Shows what is known now; the tool in the hand stays there, with what was tapped by it.
async function load() {
  loaded = job.version;
  const before = photos();
  try {
    sight = await ask("GET", `${root}/sight`);
  } catch (refusal) {
    if (refusal instanceof Refusal && refusal.status === 404) return;
    throw refusal;
  }
  sighted.hidden = false;
  document.getElementById("tools").hidden = false;
  const number = Math.min(stage?.view.number ?? 0, sight.photos.length - 1);
  if (stage) stage.replace(view(number));
  else {
    stage = new Stage(document.getElementById("stage"), view(number));
    tools = toolsOf(stage, send, acts);
    for (const tool of Object.values(tools)) tool.say = say;
    bind();
  }
  turned();
  const found = sight.measured.length > 0;
  for (const button of document.querySelectorAll("[data-tool=drag], [data-tool=cut]")) button.disabled = !found;
  const inHand = stage.element.dataset.tool;
  if (inHand && stage.tool.turned && before === photos()) stage.tool.turned();
  else take(found ? inHand || "look" : "near");
}

// Which photos they are, in their order: what was tapped names them by number.
const photos = () => sight?.photos.map((each) => each.photo).join() ?? "";

// One photo as the stage wants it: the stretch of the outline that it shows.
function view(number) {
  const photo = sight.photos[number];
  const { first, outline_px } = photo;
  return {
    ...photo,
    number,
    run: sight.run && sight.photos.length > 1,
    total: sight.measured.length,
    measured: sight.measured.slice(first, first + outline_px.length),
  };
}

// Which of several photos is looked at.
function turned() {
  const { number } = stage.view;
  turner.hidden = sight.photos.length < 2;
  document.getElementById("turned").textContent = `${number + 1} of ${sight.photos.length}`;
  document.getElementById("before").disabled = number === 0;
  document.getElementById("after").disabled = number === sight.photos.length - 1;
}

// Another photo: what was tapped in others stays.
function turn(by) {
  stage.replace(view(stage.view.number + by));
  turned();
  if (stage.tool.turned) stage.tool.turned();
  else take(stage.element.dataset.tool);
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
  if (list.length) place.scrollIntoView({ block: "nearest" });
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
    await loading;
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
  document.getElementById("before").addEventListener("click", () => turn(-1));
  document.getElementById("after").addEventListener("click", () => turn(1));
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
  if (button?.id === "forget" && (await attempt(() => ask("POST", `${root}/corrections`, { do: "forget" })))) await refresh();
});

whenDone(async (work) => {
  if (!["trace", "look"].includes(work.do) || work.state === "stopped") return;
  if (stage) stage.element.dataset.tool = ""; // what was asked for with it is done
  await start();
});

// Another window may have put it right.
whenFresh(() => {
  if (stage && loaded !== job.version) loading = load();
});

async function start() {
  await load();
  // What is not traced yet, or was traced from something else, is traced without being asked, as
  // soon as nobody looks at its photos any more.
  if (document.getElementById("trace")?.dataset.auto === "yes") await begin({ do: "trace", outline: name });
}

if (name) start();
