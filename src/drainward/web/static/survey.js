// A room before its unit is set: joins the entry of measures with what they say of the pocket.
import { MeasureEntry } from "./measure.js";
import { all, find, getJson, make, pause, renew, withdraw } from "./tools.js";
import { way } from "./way.js";

export function survey(main, data) {
  const path = main.dataset.survey, verdict = find("#verdict"), answers = find("#answer"), form = find("#entry");
  let asked = 0;
  const entry = form && new MeasureEntry(form, data.steps, (waits) => {
    const state = find(".state", verdict);
    if (state) state.textContent = waits ? "What was measured last is not sent yet: this is without it." : "Saved. Placing the unit anew…";
    if (!waits) ask();
  });

  // The answer to what was measured last; one that a newer measure has overtaken is dropped.
  async function ask() {
    const mine = ++asked;
    main.dataset.refined = "no";
    for (;;) {
      const { ok, status, body } = await getJson(`${path}/survey-answer.json`);
      if (mine !== asked) return;
      if (!ok && !status) {
        const state = find(".state", verdict);
        if (state) state.textContent = "No answer from the server; trying again…";
        await pause(2000);
        if (mine !== asked) return;
        continue;
      }
      if (!ok) {
        verdict.className = "open";
        verdict.replaceChildren(make("p", { class: "says" }, body.error ?? "This pocket could not be computed."));
        main.dataset.refined = "failed";
        return;
      }
      verdict.innerHTML = body.verdict;
      verdict.className = ["meets", "fails", "not-proven"].find((name) => find(".mark", verdict).classList.contains(name)) ?? "open";
      renew(answers, body.answer);
      find("#picture").innerHTML = body.picture;
      find("#unseen").hidden = body.picture !== "";
      entry?.offered(body.steps);
      main.dataset.refined = "yes";
      return;
    }
  }

  way(find("#way"), path);
  if (main.dataset.refined !== "yes") ask();
  answers.addEventListener("submit", (event) => withdraw(event, () => { scrollTo(0, 0); ask(); }));
  addEventListener("sent", ask);
  // Somebody else may have measured on meanwhile.
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !entry?.open) ask(); });
  for (const node of all("#picture, .wide")) node.tabIndex = 0;
}
