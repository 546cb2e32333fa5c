// What holds a unit: the clock of its bed read anew each minute, and what was done written down, kept here without a network.
import { sending } from "./form.js";
import { find, getJson, pause, renew, withdraw } from "./tools.js";

const MINUTE = 60000;

export function hold(main) {
  const path = main.dataset.hold, answers = find("#answer"), form = find("#entry");
  let asked = 0;

  async function ask() {
    const mine = ++asked;
    const { ok, body } = await getJson(`${path}/hold-answer.json`);
    if (mine !== asked) return;
    if (ok) { renew(answers, body.answer); main.dataset.known = "yes"; } else if (main.dataset.known === "no") find("p", answers).textContent = body.error ?? "This room could not be computed.";
  }

  const idle = () => !document.hidden && !answers.contains(document.activeElement);
  async function tick() { for (;;) { await pause(MINUTE); if (idle()) await ask(); } }

  if (main.dataset.known === "no") ask();
  tick();
  if (form) entry(form, ask);
  answers.addEventListener("submit", (event) => withdraw(event, ask));
  addEventListener("sent", ask);
  document.addEventListener("visibilitychange", () => { if (idle()) ask(); });
}

function entry(form, onSaved) {
  const { what, value } = form.elements;

  function fit() {
    const example = what.selectedOptions[0].dataset.example;
    find("[data-value]", form).hidden = !example;
    value.placeholder = example ?? "";
    if (!example) value.value = "";
  }

  what.addEventListener("change", fit);
  fit();
  sending(form, () => what.selectedOptions[0].textContent, ["value", "when", "note"], onSaved);
}
