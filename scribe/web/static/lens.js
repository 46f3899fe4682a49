// The lens's screen: photos of the sheet go out, and the lens is learnt from them or taken over.

import { ask, job } from "./ask.js";
import { refresh } from "./live.js";
import { attempt, begin, whenDone } from "./page.js";
import { bindDrops, sendPhoto } from "./send.js";

bindDrops(attempt, refresh);
whenDone(refresh);

document.addEventListener("change", async ({ target }) => {
  if (!target.matches("[data-lens]")) return;
  const files = [...target.files];
  target.value = "";
  for (const file of files) if (await sendPhoto(file, () => ({ for: "camera" }), refresh)) await refresh();
});

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("button");
  if (button?.id === "learn") await begin({ do: "camera" });
  if (button?.id === "take-lens") {
    const from = document.getElementById("other-job").value;
    if (await attempt(() => ask("POST", `${job.root}/lens`, { from }))) await refresh();
  }
});
