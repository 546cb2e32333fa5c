// The entry form as a sheet of two steps: where it was read, then what was read. Nothing typed is ever lost.
import { Sheet } from "./sheet.js";
import { INCH, all, find, kept, make, newId, roughly, toast, trade } from "./tools.js";

const UNITS = { slope: ["%", "deg", "in/ft", "mm/m"], length: ["in", "mm"] };
const INCHES = ["in", "in/ft"];

// Name of the kind; what to tap first and second.
export const KINDS = {
  slope: ["Slope", "Tap where the level starts.", "Tap toward where it ends."],
  wedge: ["Gap under level", "Tap the end that rests on the floor.", "Tap toward the free end, where the gap is."],
  chord: ["Straightedge", "Tap one end of the straightedge.", "Tap toward its other end."],
  height: ["Spot height", "Tap the spot.", ""],
};

export class Entry extends Sheet {
  constructor(form, plan, onSaved) {
    super(form);
    Object.assign(this, { plan, onSaved, points: [null, null], active: 1, offer: null, tools: [] });
    for (const node of all(".ends, [data-keyboard], .keys", form)) node.hidden = false;
    this.fields.who.value ||= kept.get("who");
    this.fields.value.inputMode = "none"; // our keys are there; the button beside the value brings the keyboard
    this.#pad();
    form.addEventListener("click", (event) => this.#click(event));
    form.addEventListener("change", (event) => this.#changed(event.target.name));
    form.addEventListener("input", (event) => { if (/^[xy]2?$/.test(event.target.name)) this.#typed(); });
    find("#open-entry").addEventListener("click", () => this.#start());
    this.refresh();
  }

  get kind() { return this.fields.kind.value; }
  get two() { return this.kind !== "height"; }
  get placed() { return Boolean(this.points[0] && (this.points[1] || !this.two)); }
  get untouched() { return !this.points[0] && !this.fields.value.value; }

  // What the server offers: instruments, set-ups, the suggested next reading.
  offered(form, next) {
    this.tools = form.instruments;
    this.offer = next && KINDS[next.kind] ? next : null;
    const { setup } = this.fields, chosen = setup.value;
    while (setup.options.length > 1) setup.remove(1);
    for (const name of form.setups) setup.append(make("option", {}, name));
    setup.value = form.setups.includes(chosen) ? chosen : form.setups.at(-1) ?? "";
    this.refresh();
  }

  tap(x, y, scale) {
    const { width, depth } = this.plan.picture, onPlan = (value, size) => Math.min(size + 0.3, Math.max(-0.3, value));
    if (!this.open && this.offer && this.untouched && near(this.offer, x, y) * scale < 24) { this.#suggest(); return; }
    if (!this.open || this.form.dataset.at !== "where") { this.show("where"); if (this.placed) return; }
    this.#put(this.active, this.#snapped([onPlan(x, width), onPlan(y, depth)]));
    if (this.two && this.active === 1 && !this.points[1]) this.active = 2;
    else if (this.placed) { this.show("value"); return; }
    this.refresh();
  }

  #start() {
    if (this.untouched && this.offer) this.#suggest();
    else this.show(this.placed ? "value" : "where");
  }

  // The other end lies as far as the tool is long, in the direction that was tapped, where that is on the floor.
  #snapped(point) {
    const from = this.points[0], tool = this.tools.find(({ id }) => id === this.fields.instrument.value);
    if (this.active !== 2 || !from || !tool?.length) return point;
    const far = Math.hypot(point[0] - from[0], point[1] - from[1]);
    if (far < 0.01) return point;
    const end = [0, 1].map((k) => from[k] + (point[k] - from[k]) * tool.length / far), { width, depth } = this.plan.picture;
    return end[0] >= 0 && end[1] >= 0 && end[0] <= width && end[1] <= depth ? end : point;
  }

  #put(end, point) {
    this.points[end - 1] = point;
    const names = end === 1 ? ["x", "y"] : ["x2", "y2"];
    names.forEach((name, k) => { this.fields[name].value = point ? trade(point[k]) : ""; this.fault(name, ""); });
  }

  #typed() {
    const read = (...names) => { const point = names.map((name) => roughly(this.fields[name].value)); return point.includes(null) ? null : point; };
    this.points = [read("x", "y"), read("x2", "y2")];
    this.refresh();
  }

  #suggest() {
    const ask = this.offer;
    for (const radio of this.fields.kind) radio.checked = radio.value === ask.kind;
    this.#changed("kind");
    if ([...this.fields.instrument.options].some((option) => option.value === ask.instrument && !option.disabled))
      this.fields.instrument.value = ask.instrument;
    this.#put(1, [ask.x, ask.y]);
    this.#put(2, ask.x2 === null ? null : [ask.x2, ask.y2]);
    this.show("value");
  }

  #changed(name) {
    this.fault(name, "");
    if (name === "kind") {
      for (const radio of this.fields.sense) radio.checked = false;
      this.active = this.two && this.points[0] && !this.points[1] ? 2 : 1;
    }
    this.refresh();
  }

  show(step) {
    super.show(step);
    if (step === "value" && matchMedia("(pointer: fine)").matches) this.fields.value.focus({ preventScroll: true });
  }

  refresh() {
    const { kind, two, points, form } = this;
    const fits = UNITS[kind === "slope" ? "slope" : "length"], radios = [...this.fields.unit];
    for (const radio of radios) radio.closest("label").hidden = !fits.includes(radio.value);
    if (!fits.includes(this.fields.unit.value)) {
      const last = kept.get(`unit ${fits[0]}`);
      radios.find((radio) => radio.value === (fits.includes(last) ? last : fits[0])).checked = true;
    }
    const { instrument } = this.fields, options = [...instrument.options];
    for (const option of options) option.disabled = option.hidden = !option.dataset.kinds.split(" ").includes(kind);
    if (instrument.selectedOptions[0]?.disabled ?? true) instrument.value = options.find((option) => !option.disabled)?.value ?? "";
    for (const node of all("[data-sense], [data-only]", form)) node.hidden = (node.dataset.sense ?? node.dataset.only) !== kind;
    find('[data-end="2"]', form).hidden = !two;
    for (const n of [1, 2]) {
      const button = find(`[data-point="${n}"]`, form);
      button.textContent = `${two ? `${n}: ` : ""}${where(points[n - 1])}`;
      button.hidden = n === 2 && !two;
      button.setAttribute("aria-pressed", String(this.active === n));
    }
    find("#help").textContent = this.placed ? "Tap to move the marked end." : KINDS[kind][this.active];
    find("#with").textContent = [instrument.selectedOptions[0]?.textContent ?? "no instrument for this", this.fields.who.value].filter(Boolean).join(" · ");
    find(".change", form).hidden = form.dataset.at !== "value";
    find("#title").textContent = form.dataset.at === "value" ? KINDS[kind][0] : "New reading";
    find("[data-places]", form).textContent = two ? `1: ${where(points[0])}\n2: ${where(points[1])}` : where(points[0]);
    find("[data-suggest]", form).hidden = !this.offer;
    find("[data-next]", form).disabled = !this.placed && !this.fields.x.value;
    for (const key of all(".fraction", form)) key.disabled = !INCHES.includes(this.fields.unit.value);
    find(".minus", form).disabled = kind !== "height";
    this.plan.entry = this.open ? { kind, points, active: form.dataset.at === "where" ? this.active : 0 } : null;
    if (this.plan.picture) this.plan.draw();
  }

  #pad() {
    const key = (text, more = {}) => make("button", { type: "button", "data-key": text, ...more }, text);
    const fractions = Array.from({ length: 15 }, (_, n) => trade((n + 1) * INCH / 16, 16).slice(0, -1));
    const rows = [["7", "8", "9"], ["4", "5", "6"], ["1", "2", "3"], [".", "0", "⌫"]];
    const keys = rows.flatMap((row, k) => [
      ...row.map((text) => key(text, text === "⌫" ? { "aria-label": "Delete" } : {})),
      ...fractions.slice(4 * k, 4 * k + 4).map((text) => key(text, { class: "fraction" })),
    ]);
    find(".keys", this.form).append(...keys, key("−", { class: "minus", "aria-label": "Minus" }));
  }

  #press(key) {
    const field = this.fields.value, fraction = /[- ]?\d+\/\d+$/;
    if (key === "⌫") field.value = fraction.test(field.value) ? field.value.replace(fraction, "") : field.value.slice(0, -1);
    else if (key === "−") field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
    else if (key.includes("/")) field.value = field.value.replace(fraction, "").replace(/(\d)$/, "$1-") + key;
    else field.value += key;
    this.fault("value", "");
  }

  #click(event) {
    const data = event.target.closest("button")?.dataset ?? {};
    if ("close" in data) this.close();
    else if ("key" in data) this.#press(data.key);
    else if ("point" in data) { this.active = Number(data.point); this.refresh(); }
    else if ("suggest" in data) this.#suggest();
    else if ("next" in data) this.show("value");
    else if ("back" in data) this.show("where");
    else if ("keyboard" in data) {
      this.fields.value.inputMode = "text";
      this.fields.value.blur();
      this.fields.value.focus();
    }
  }

  async save() {
    const sent = new URLSearchParams(new FormData(this.form));
    for (const name of this.two ? ["setup"] : ["x2", "y2", "sense"]) sent.delete(name);
    const value = `${this.fields.value.value} ${this.fields.unit.value}`, room = decodeURIComponent(new URL(this.form.action).pathname.split("/")[2]);
    const saved = await this.send(sent, `${room}: ${KINDS[this.kind][0]}, ${value}`);
    if (!saved) return;
    kept.set("who", this.fields.who.value);
    kept.set(`unit ${UNITS[this.kind === "slope" ? "slope" : "length"][0]}`, this.fields.unit.value);
    this.fields.id.value = newId();
    this.fields.value.value = this.fields.note.value = "";
    for (const radio of this.fields.sense) radio.checked = false;
    for (const end of [1, 2]) this.#put(end, null);
    this.active = 1;
    this.offer = null;
    this.close();
    toast(saved.kept ? `Kept on this phone: ${value}` : `Saved: ${saved.written}`);
    if (!saved.kept) this.onSaved();
  }

  // The step that holds a fault is shown.
  faulty(fields) {
    if (fields.some((field) => /^[xy]2?$|^kind$/.test(field))) { find(".places", this.form).open = true; this.show("where"); }
    if (fields.includes("instrument")) find(".more", this.form).open = true;
  }
}

const where = (point) => (point ? `${trade(point[0])} from left, ${trade(point[1])} from back` : "tap the plan");

// Distance of a point from a mark, m.
function near(mark, x, y) {
  if (mark.x2 === null) return Math.hypot(x - mark.x, y - mark.y);
  const dx = mark.x2 - mark.x, dy = mark.y2 - mark.y;
  const share = Math.min(1, Math.max(0, ((x - mark.x) * dx + (y - mark.y) * dy) / (dx * dx + dy * dy || 1)));
  return Math.hypot(x - mark.x - share * dx, y - mark.y - share * dy);
}
