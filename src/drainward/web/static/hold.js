// What holds a unit: the clock of its bed read anew each minute, and what was done written down, kept here without a network.
import { post } from "./outbox.js";
import { all, find, getJson, kept, newId, pause, renew, toast, withdraw } from "./tools.js";

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
  const { what, value, who, note, when, id } = form.elements;
  who.value ||= kept.get("who");

  function fit() {
    const example = what.selectedOptions[0].dataset.example;
    find("[data-value]", form).hidden = !example;
    value.placeholder = example ?? "";
    if (!example) value.value = "";
  }

  what.addEventListener("change", fit);
  fit();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = find(".save", form);
    for (const box of all(".fault", form)) box.textContent = "";
    kept.set("who", who.value);
    button.disabled = true;
    const { ok, body } = await post(form.action, new FormData(form), what.selectedOptions[0].textContent);
    button.disabled = false;
    if (!ok) {
      for (const { field, got, expected } of body.problems ?? [{ field: "_", got: "", expected: `${body.error ?? ""} Not saved; try again` }]) {
        (find(`[data-fault="${CSS.escape(field)}"]`, form) ?? find('[data-fault="_"]', form)).textContent = `${got ? `“${got}” ` : ""}${expected}.`;
      }
      return;
    }
    id.value = newId();
    for (const field of [value, when, note]) field.value = "";
    toast(body.kept ? "Kept on this phone; it is sent when the network is back." : "Saved.");
    if (!body.kept) onSaved();
  });
}
