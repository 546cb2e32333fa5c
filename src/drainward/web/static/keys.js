// Keys for a length on a building: feet, inches and sixteenths, or millimetres, pressed with a thumb.
import { metres, written } from "./lengths.js";
import { all, find, kept, make } from "./tools.js";

const PARTS = /^(?:(\d+)')?-?(\d*\.?\d*)(?:[- ]?(\d+\/\d+))?(?:"| ?mm| ?in)?$/;

export class Keys {
  // onDone gets the field when its keys are put away.
  constructor(box, onDone) {
    Object.assign(this, { box, onDone, field: null, fresh: false, sixteenths: false, unit: kept.get("unit length") || "in" });
    // The field keeps the cursor: a touch of a key must not take it away.
    box.addEventListener("pointerdown", (event) => event.preventDefault());
    box.addEventListener("click", (event) => { const key = event.target.closest("button"); if (key) this.#press(key.dataset.key); });
  }

  open(field) {
    Object.assign(this, { field, fresh: true, sixteenths: false });
    if (/mm\s*$/.test(field.value)) this.unit = "mm";
    else if (/["']\s*$/.test(field.value)) this.unit = "in";
    this.box.hidden = false;
    this.#draw();
  }

  close() {
    const { field } = this;
    if (!field) return;
    this.field = null;
    this.box.hidden = true;
    this.onDone(field);
  }

  #draw() {
    const key = (text, data, more = {}) => make("button", { type: "button", "data-key": data, ...more }, text), inches = this.unit === "in";
    const digits = (row) => row.split("").map((digit) => key(digit, digit));
    const echo = make("output", { class: "echo" }, this.#echo());
    const keys = [
      ...digits("789"), key("⌫", "back", { "aria-label": "Delete" }),
      ...digits("456"), key("fraction", "sixteenths", { class: "small fraction" }),
      ...digits("123"), key("feet ′", "feet", { class: "small" }),
      key(inches ? "mm" : "in", "unit", { class: "small", "aria-label": `Write in ${inches ? "mm" : "in"}` }), key("0", "0"), key("⌨", "keyboard", { "aria-label": "Use the keyboard" }), key("Done", "done", { class: "small go" }),
    ];
    const sixteenths = Array.from({ length: 16 }, (_, n) => key(n ? written(n * 0.0254 / 16).slice(0, -1) : "0", `/${n}`, { class: "fraction" }));
    this.box.replaceChildren(echo, ...(this.sixteenths ? sixteenths : keys));
    for (const one of all(".fraction, [data-key=feet]", this.box)) one.disabled = !inches;
  }

  #echo() {
    const size = metres(this.field.value);
    if (size === null) return this.field.value ? "not a length yet" : "";
    return this.unit === "mm" ? written(size) : written(size, "mm");
  }

  #press(data) {
    const { field } = this;
    if (data === "done") { this.close(); return; }
    if (data === "keyboard") { field.inputMode = "text"; field.blur(); field.focus(); return; }
    if (data === "sixteenths") { this.sixteenths = true; this.#draw(); return; }
    let [, feet = "", whole = "", fraction = ""] = (this.fresh && data !== "back" && !data.startsWith("/") ? null : PARTS.exec(field.value)) ?? [];
    if (data === "back") {
      if (fraction) fraction = "";
      else if (whole) whole = whole.slice(0, -1);
      else feet = feet.slice(0, -1);
    } else if (data === "unit") {
      this.unit = this.unit === "in" ? "mm" : "in";
      kept.set("unit length", this.unit);
      const size = metres(field.value);
      field.value = size === null ? "" : written(size, this.unit);
      this.fresh = true;
      this.#draw();
      return;
    } else if (data === "feet") {
      if (!feet && whole) [feet, whole] = [whole, ""];
    } else if (data.startsWith("/")) {
      fraction = Number(data.slice(1)) ? written(Number(data.slice(1)) * 0.0254 / 16).slice(0, -1) : "";
      this.sixteenths = false;
    } else whole += data;
    this.fresh = false;
    field.value = this.#text(feet, whole, fraction);
    this.#draw();
    field.dispatchEvent(new Event("typed", { bubbles: true }));
  }

  #text(feet, whole, fraction) {
    if (this.unit === "mm") return whole ? `${whole} mm` : "";
    const inches = [whole && `${Number(whole)}`, fraction].filter(Boolean).join(feet ? " " : "-");
    if (feet) return `${feet}'${inches ? `-${inches}"` : ""}`;
    return inches ? `${inches}"` : "";
  }
}
