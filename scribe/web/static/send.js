// A photo goes out as it was taken, with a bar while it does; one that was refused can go again.

import { Refusal, ask, job } from "./ask.js";
import { beside, made, refusalNote, sentence, untell } from "./told.js";

// Whether something was refused that nobody answered yet.
export const anyRefused = () => document.querySelector("#sending .refused") !== null;

// A photo on its way, or one that nobody answered for yet, exists nowhere else where the camera of
// the page took it.
window.addEventListener("beforeunload", (event) => {
  if (document.querySelector("#sending li")) event.preventDefault();
});

// query(): what the photo is for, as things stand when it goes out. settled(arrived) is called when
// one that was refused went well after all, or was left. True when it arrived.
export async function sendPhoto(file, query, settled) {
  const bar = made("progress", { ariaLabel: `Sending ${file.name}` });
  const row = made("li", { className: "working" }, made("p", { text: `Sending ${file.name}` }), bar);
  document.getElementById("sending").append(row);
  try {
    await ask("POST", `${job.root}/photos?${new URLSearchParams({ name: file.name, ...query() })}`, file, { raw: true });
    row.remove();
    untell();
    return true;
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    const field = document.getElementById(refusal.error.where); // that was sent along
    if (field) beside(field, sentence(refusal.error));
    const waits = { what: `${file.name} was not sent`, do: "put right what is marked above, then send it again" };
    const note = refusalNote(field ? waits : { ...refusal.error, where: file.name }, [
      ["Send it again", async () => (row.remove(), (await sendPhoto(file, query, settled)) && settled(true))],
      ["Leave it", () => (row.remove(), settled(false))],
    ]);
    row.className = "refused";
    row.replaceChildren(note);
    row.scrollIntoView({ block: "nearest" });
    return false;
  }
}

// Buttons with data-drop take a photo away; then() follows.
export function bindDrops(attempt, then) {
  document.addEventListener("click", async ({ target }) => {
    const button = target.closest("[data-drop]");
    if (!button) return;
    button.disabled = true;
    if (await attempt(() => ask("DELETE", `${job.root}/photos/${button.dataset.drop}`))) await then();
    button.disabled = false;
  });
}
