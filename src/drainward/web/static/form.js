// A form that stands in the page: sent, kept here without a network, each fault said beside its field; nothing typed is lost.
import { post } from "./outbox.js";
import { all, find, kept, newId, toast } from "./tools.js";

// label() : what it is, for whoever looks at what waits;  blank : the fields that are emptied once it is saved
export function sending(form, label, blank, onSaved) {
  const { who, id } = form.elements;
  who.value ||= kept.get("who");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = find(".save", form);
    for (const box of all(".fault", form)) box.textContent = "";
    kept.set("who", who.value);
    button.disabled = true;
    const { ok, body } = await post(form.action, new FormData(form), label());
    button.disabled = false;
    if (!ok) {
      for (const { field, got, expected } of body.problems ?? [{ field: "_", got: "", expected: `${body.error ?? ""} Not saved; try again` }]) {
        (find(`[data-fault="${CSS.escape(field)}"]`, form) ?? find('[data-fault="_"]', form)).textContent = `${got ? `“${got}” ` : ""}${expected}.`;
      }
      return;
    }
    id.value = newId();
    for (const name of blank) form.elements[name].value = "";
    toast(body.kept ? "Kept on this phone; it is sent when the network is back." : "Saved.");
    if (!body.kept) onSaved();
  });
}
