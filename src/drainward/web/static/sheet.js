// A form as a sheet over the page: opened at a step, closed, sent. Each fault stands at its field; nothing typed is lost.
import { post } from "./outbox.js";
import { all, find, toast } from "./tools.js";

export class Sheet {
  constructor(form) {
    Object.assign(this, { form, fields: form.elements, open: false });
    form.classList.add("sheet");
    form.hidden = true;
    for (const node of all("[data-close], .acts", form)) node.hidden = false;
    for (const node of all("details", form)) node.open = false;
    form.addEventListener("submit", (event) => { event.preventDefault(); this.save(); });
    find("#open-entry").hidden = false;
  }

  show(step) {
    this.open = true;
    this.form.hidden = false;
    this.form.dataset.at = step;
    find("#open-entry").hidden = true;
    toast("");
    this.refresh();
    find("#plan").scrollIntoView({ block: "start" });
  }

  close() {
    this.open = false;
    this.form.hidden = true;
    find("#open-entry").hidden = false;
    this.refresh();
  }

  fault(name, says) {
    const box = find(`[data-fault="${CSS.escape(name)}"]`, this.form);
    if (box) box.textContent = says;
    return Boolean(box);
  }

  // The answer, `kept` where it waits on this phone until there is a network; null where it was refused.
  // label : what it is, for whoever looks at what waits
  async send(body, label) {
    const button = find(".save", this.form), words = button.textContent;
    for (const box of all(".fault", this.form)) box.textContent = "";
    button.disabled = true;
    button.textContent = "Saving…";
    const answer = await post(this.form.action, body, label);
    button.disabled = false;
    button.textContent = words;
    if (answer.ok) return answer.body;
    this.#refused(answer.body);
    return null;
  }

  #refused(body) {
    const problems = body.problems ?? [{ field: "_", got: "", expected: `Not saved. ${body.error ?? ""} What you typed is still here; try again` }];
    for (const { field, got, expected } of problems) {
      const says = `${got ? `“${got}” ` : field === "_" ? "" : "This "}${expected}.`;
      if (!this.fault(field, says)) this.fault("_", says);
    }
    this.faulty(problems.map(({ field }) => field));
    find(".fault:not(:empty)", this.form)?.scrollIntoView({ block: "nearest" });
  }
}
