// The piece's screen: every change is saved, and the drawing is made again while one types.

import { job } from "./ask.js";
import { bindFields, change } from "./change.js";
import { settled } from "./drafts.js";
import { whenFresh } from "./live.js";
import "./page.js";
import { beside, refusalNote } from "./told.js";

const drawing = document.getElementById("drawing");
let asked = 0;

async function draw() {
  if (!drawing) return;
  const mine = ++asked;
  const said = document.getElementById("drawing-said");
  drawing.setAttribute("aria-busy", "true");
  let answer;
  try {
    answer = await fetch(drawing.dataset.src, { cache: "no-store" });
  } catch {
    return;
  }
  const text = await answer.text();
  if (mine !== asked) return;
  drawing.removeAttribute("aria-busy");
  if (answer.ok) {
    said.replaceChildren();
    drawing.classList.remove("old");
    drawing.parentElement.classList.remove("untraced");
    show(text);
    return;
  }
  drawing.classList.add("old");
  let error = { what: "the piece can't be drawn", where: "", do: "look at what was typed last" };
  if (answer.headers.get("Content-Type")?.includes("json")) error = JSON.parse(text).error;
  const untraced = error.kind === "page-outline-old";
  const outline = `/jobs/${job.id}/outline?outline=${encodeURIComponent(error.where)}`;
  const acts = untraced ? [["To the outline", () => location.assign(outline)]] : [];
  drawing.parentElement.classList.toggle("untraced", untraced);
  said.replaceChildren(refusalNote({ ...error, where: "" }, acts));
}

function show(text) {
  const svg = document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
  svg.querySelectorAll("script, style, foreignObject").forEach((each) => each.remove());
  svg.removeAttribute("width");
  svg.removeAttribute("height");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", `${drawing.dataset.name}: the blank with what is kept and the hatched waste. The table at the next place has its numbers.`);
  for (const group of svg.querySelectorAll("g[id]")) {
    group.setAttribute("class", group.id);
    group.removeAttribute("id"); // ids of the page stay the page's own
  }
  // A long piece keeps its height, so that its words can be read, and is moved along.
  const { width, height } = svg.viewBox.baseVal;
  drawing.classList.toggle("long", width > 3 * height);
  svg.style.aspectRatio = `${width} / ${height}`;
  drawing.replaceChildren(svg);
}

const form = document.getElementById("piece");
if (form) {
  form.addEventListener("submit", (event) => event.preventDefault());
  bindFields(form);
  let version = null;
  whenFresh(() => {
    if (version === job.version) return;
    version = job.version;
    draw();
  });
}

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("button");
  if (button?.dataset.take && (await change([{ at: JSON.parse(button.dataset.take), to: null }]))) location.reload();
  if (button?.id === "another-edge") {
    const to = { outline: button.dataset.outline, edge: button.dataset.edge };
    if (await change([{ at: JSON.parse(button.dataset.at), to }])) location.reload();
  }
});

const start = document.getElementById("new-piece");
start?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = document.getElementById("piece-name");
  const name = field.value.trim();
  beside(field, name ? null : "Give it a name.");
  if (!name) {
    field.focus();
    return;
  }
  const outline = document.getElementById("piece-outline");
  const length = Number(outline.selectedOptions[0].dataset.length) || 0;
  // As long as what was measured, and a little inside it: no end of the blank hangs over
  // a stretch that nobody saw.
  const to = {
    name,
    blank: { length: Math.max(Math.floor(length) - 10, 20), width: 60, thickness: 18 },
    edge: [{ outline: outline.value, edge: "top", station: -5 }],
  };
  const number = Number(start.dataset.number);
  if (!(await change([{ at: ["piece", number], to }], field))) return;
  settled(start);
  location.assign(`?piece=${number}`);
});

// A phone's keyboard has a key that goes on, not one that sends.
form?.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.matches("input")) event.target.blur();
});

