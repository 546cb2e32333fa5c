// The entry of measures as a sheet: one measure a screen, with a picture of it and keys for wet gloves.
import { Sheet } from "./sheet.js";
import { INCH, all, find, kept, make, newId, smaller, toast, trade } from "./tools.js";

const PLACES = ["wall", "x", "y", "z", "x2", "y2"];
// A value as the keys write it: sign, whole, fraction, unit.
const WRITTEN = /^\s*(-?)(\d*\.?\d*)(?:[- ]?(\d+)\/(\d+))?\s*(in|"|mm)?\s*$/;

export class MeasureEntry extends Sheet {
  constructor(form, steps, onSaved) {
    super(form);
    Object.assign(this, { steps, onSaved, step: null, unit: "in", passed: new Set(), sixteenths: false, photo: null, told: "" });
    for (const node of all(".stepper, .tape, .summary, .pad, .on, #echo, #count", form)) node.hidden = false;
    for (const node of all("[data-typed]", form)) node.hidden = true;
    find("label[for=value]", form).hidden = true;
    this.fields.who.value ||= kept.get("who");
    form.addEventListener("click", (event) => this.#click(event));
    form.addEventListener("change", (event) => this.#changed(event.target));
    form.addEventListener("input", ({ target }) => { if (target.name) { this.fault(target.name, ""); this.refresh(); } });
    find("#open-entry").addEventListener("click", () => this.start());
    this.#list();
    this.#pad();
  }

  get damage() { return this.step?.what === "damage"; }
  get untouched() { return !this.fields.value.value && !this.photo; }

  // What the server asks for now. The measure on the screen stays there until it is saved or skipped.
  offered(steps) {
    this.steps = steps;
    this.#list();
    if (!this.open && this.untouched) this.step = null;
  }

  start() {
    if (!this.step || this.untouched) this.#put(this.#open() ?? this.steps[0]);
    this.show("measure");
  }

  show(step) {
    super.show(step);
    this.form.scrollTop = 0;
    if (matchMedia("(pointer: fine)").matches) this.fields.value.focus({ preventScroll: true });
  }

  // The first that was neither measured nor passed by.
  #open() { return this.steps.find((step) => !step.done && !this.passed.has(key(step))); }

  #put(step) {
    this.step = step;
    const { fields } = this;
    fields.what.value = step.what;
    fields.wall.value = step.wall;
    for (const name of PLACES.slice(1)) fields[name].value = step.places[name] ?? "";
    for (const radio of fields.sense) radio.checked = false;
    const last = kept.get(`tool ${group(step)}`), options = [...fields.instrument.options];
    const usual = options.find(({ text }) => USUAL[group(step)].test(text))?.value ?? "";
    fields.instrument.value = options.some(({ value }) => value && value === last) ? last : last === "tape" ? "" : usual;
    this.#tool();
    this.sixteenths = false;
    this.unit = kept.get("unit length") || "in";
    for (const box of all(".fault", this.form)) box.textContent = "";
    find("#tape").innerHTML = step.svg;
    this.#pad();
    this.refresh();
  }

  // A tape that the job does not list has its own uncertainty; an instrument of the job brings its.
  #tool() { this.fields.u.value = this.damage || this.fields.instrument.value ? "" : this.fields.u.dataset.tape; }

  #go(way) {
    if (way > 0 && !this.step.done) this.passed.add(key(this.step));
    const at = this.#at(), next = this.steps[(at + way + this.steps.length) % this.steps.length];
    this.#put(at < 0 ? this.#open() ?? this.steps[0] : next);
  }

  #at() { return this.step ? this.steps.findIndex((step) => key(step) === key(this.step)) : -1; }

  #list() {
    const box = find("#steps"), groups = { pocket: "The pocket", unit: "The unit as it arrived" };
    box.replaceChildren(...Object.entries(groups).map(([of, label]) => {
      const group = make("optgroup", { label });
      this.steps.forEach((step, n) => { if (step.of === of) group.append(make("option", { value: n }, `${step.done ? "✓ " : ""}${step.title}${short(step)}`)); });
      return group;
    }));
    const at = this.#at();
    if (at >= 0) box.value = at;
  }

  refresh() {
    const { step, form, fields } = this;
    if (!step) return;
    find("#title").textContent = step.title;
    form.classList.toggle("sensed", step.sense.length > 0);
    find("#how").textContent = step.how + (step.sheet ? ` The cut sheet says ${step.sheet}.` : "");
    find("#why").hidden = !step.why;
    find("#why").textContent = step.why;
    const at = this.#at();
    find("#count").textContent = `${this.steps.filter(({ done }) => done).length} of ${this.steps.length} measured${step.done ? ", this one too" : ""}.`;
    find("#told").textContent = this.told;
    if (at >= 0) find("#steps").value = at;
    find("[data-sense]", form).hidden = !step.sense.length;
    for (const radio of fields.sense) radio.closest("label").hidden = !step.sense.includes(radio.value);
    for (const name of PLACES) {
      const used = name === "wall" ? step.wall : step.places[name] || (name === "z" && ["stud", "square"].includes(step.what));
      find(`[data-field="${name}"]`, form).hidden = !used;
    }
    find("[data-photo]", form).hidden = step.of !== "unit";
    find(".seen", form).hidden = !this.damage;
    find(".pad", form).hidden = this.damage;
    fields.value.inputMode = this.damage ? "text" : "none"; // our keys are there; ⌨ brings the keyboard
    fields.value.placeholder = this.damage ? "such as: crack in the left wall" : "";
    find("#echo").textContent = this.damage ? "" : metric(fields.value.value);
    const tool = fields.instrument.selectedOptions[0], name = fields.instrument.value ? tool.textContent : "a tape";
    find("#with").textContent = ["Where", this.damage ? "" : name, "note", fields.who.value].filter(Boolean).join(" · ");
  }

  #pad() {
    const key = (text, data, more = {}) => make("button", { type: "button", "data-key": data, ...more }, text);
    const inches = [
      ..."789".split("").map((digit) => key(digit, digit)), key("⌫", "back", { "aria-label": "Delete" }),
      ..."456".split("").map((digit) => key(digit, digit)), key("fraction", "sixteenths", { class: "tall" }),
      ..."123".split("").map((digit) => key(digit, digit)),
      key(".", "."), key("0", "0"), key("⌨", "keyboard", { "aria-label": "Use the keyboard" }), key(this.unit === "in" ? "mm" : "in", "unit", { "aria-label": `Measure in ${this.unit === "in" ? "mm" : "in"}` }),
    ];
    const sixteenths = Array.from({ length: 16 }, (_, n) => key(n ? trade(n * INCH / 16, 16).slice(0, -1) : "0", `/${n}`, { class: "fraction" }));
    find(".pad", this.form).replaceChildren(...(this.sixteenths ? sixteenths : inches));
    const tall = find(".tall", this.form);
    if (tall) tall.disabled = this.unit !== "in";
  }

  #press(data) {
    const { fields } = this;
    if (data === "sixteenths") { this.sixteenths = true; this.#pad(); return; }
    if (data === "keyboard") { fields.value.inputMode = "text"; fields.value.blur(); fields.value.focus(); return; }
    const read = WRITTEN.exec(fields.value.value);
    let [, sign, whole, over, under] = read ?? ["", "", "", "", ""];
    if (data === "back") {
      if (!read) whole = "";
      else if (over) over = under = "";
      else whole = whole.slice(0, -1);
    } else if (data === "unit") {
      this.unit = this.unit === "in" ? "mm" : "in";
      kept.set("unit length", this.unit);
      over = under = "";
      this.#pad();
    } else if (data.startsWith("/")) {
      const n = Number(data.slice(1));
      [over, under] = n ? trade(n * INCH / 16, 16).slice(0, -1).split("/") : ["", ""];
      if (whole.includes(".")) whole = whole.split(".")[0];
      if (!n && !whole) whole = "0";
      this.sixteenths = false;
      this.#pad();
    } else if (data !== "." || !(whole.includes(".") || over)) whole += data;
    const number = over ? `${whole && Number(whole) ? `${Number(whole)}-` : ""}${over}/${under}` : whole;
    fields.value.value = number ? `${sign}${number} ${this.unit}` : "";
    this.fault("value", "");
    this.refresh();
  }

  #click(event) {
    const data = event.target.closest("button")?.dataset ?? {};
    if ("close" in data) this.close();
    else if ("key" in data) this.#press(data.key);
    else if ("damage" in data) { this.fields.value.value = data.damage; this.refresh(); }
    else if ("go" in data) {
      // What was typed belongs to the measure that is left: it does not go along.
      if (!this.untouched && !confirm("Leave this measure? What was typed is not saved.")) return;
      this.#clear();
      this.#go(Number(data.go));
      this.form.scrollTop = 0;
    }
  }

  #changed(field) {
    if (field.id === "steps") {
      if (!this.untouched && !confirm("Leave this measure? What was typed is not saved.")) { this.refresh(); return; }
      this.#clear();
      this.#put(this.steps[Number(field.value)]);
    } else if (field.name === "photo") this.#take(field.files[0]);
    else if (field.name === "instrument") this.#tool();
    if (field.name) this.fault(field.name, "");
    this.refresh();
  }

  async #take(file) {
    const preview = find("#preview");
    this.photo = file ?? null;
    preview.hidden = true;
    const made = file && await smaller(file, preview);
    if (made && this.fields.photo.files[0] === file) { this.photo = made; preview.hidden = false; }
  }

  #clear() {
    for (const name of ["value", "note", "photo"]) this.fields[name].value = "";
    this.photo = null;
    find("#preview").hidden = true;
    this.fields.id.value = newId();
  }

  async save() {
    const { step, fields, form } = this;
    if (step.sense.length && ![...fields.sense].some((radio) => radio.checked) && parseFloat(fields.value.value) !== 0) {
      this.fault("sense", "Choose which way.");
      find('[data-fault="sense"]', form).scrollIntoView({ block: "nearest" });
      return;
    }
    const sent = new FormData(form);
    sent.delete("photo");
    if (this.photo && step.of === "unit") sent.set("photo", this.photo, "photo.jpg");
    if (!step.sense.length) sent.delete("sense");
    if (this.damage) for (const name of ["u", "instrument"]) sent.delete(name);
    for (const name of PLACES) if (find(`[data-field="${name}"]`, form).hidden) sent.delete(name);
    const saved = await this.send(sent, `${decodeURIComponent(new URL(form.action).pathname.split("/")[2])}: ${step.title}, ${fields.value.value || "photograph"}`), value = fields.value.value;
    if (!saved) return;
    kept.set("who", fields.who.value);
    if (!this.damage) kept.set(`tool ${group(step)}`, fields.instrument.value || "tape");
    step.done += 1;
    this.#clear();
    this.#list();
    const next = this.#after(step);
    this.told = saved.kept ? `Kept on this phone: ${step.title}, ${value}` : `✓ Saved: ${step.title}, ${saved.written}`;
    if (next) { this.#put(next); form.scrollTop = 0; } else { this.close(); toast(this.told); }
    this.onSaved(Boolean(saved.kept));
  }

  // What the server asks for, else the next of the round that is open; from its end on, those before it.
  #after(step) {
    const at = this.steps.findIndex((other) => key(other) === key(step)), asked = this.steps.filter(({ why }) => why);
    const round = [...asked, ...this.steps.slice(at + 1), ...this.steps.slice(0, Math.max(at, 0))];
    return round.find((other) => !other.done && key(other) !== key(step) && !this.passed.has(key(other)));
  }

  faulty(fields) {
    if (fields.some((field) => [...PLACES, "instrument", "u", "who", "note"].includes(field))) find(".more", this.form).open = true;
  }
}

const key = (step) => [step.of, step.what, step.wall, step.title, ...Object.entries(step.places).flat()].join("|");

// What an instrument is called where nobody chose one yet; else a tape.
const USUAL = { tape: /tape/i, level: /plumb/i, laser: /laser/i };

// Tools change with what is measured, not with each measure.
const group = ({ what }) => (["plumb", "square"].includes(what) ? "level" : what === "slab" ? "laser" : "tape");

function short({ places }) {
  const words = [["x", "left"], ["y", "back"], ["z", "up"]].filter(([name]) => places[name]).map(([name, way]) => `${places[name]} ${way}`);
  return words.length ? `: ${words.join(", ")}` : "";
}

// The other way of writing what was typed, to see a slip; empty where the server alone can tell.
function metric(text) {
  const read = WRITTEN.exec(text);
  if (!read || (!read[2] && !read[3])) return "";
  const size = Number(read[2] || 0) + (read[3] ? Number(read[3]) / Number(read[4]) : 0);
  return read[5] === "mm" ? trade(size / 1000, 16) : `${(size * INCH * 1000).toFixed(0)} mm`;
}
