// The entry of a water test as a sheet of three steps: a stopwatch, puddles tapped on the plan, the rest with a photograph.
// The watch runs on the clock of the day and is kept, so that a locked phone or a reload loses nothing.
import { Sheet } from "./sheet.js";
import { all, clock, find, kept, make, newId, smaller, toast, trade } from "./tools.js";

const SAYS = [
  "Press when the first water lands.",
  "Press when the last water is out of the bucket.",
  "Press when the stream into the drain breaks up into drops.",
];
const PRESS = ["Start", "Poured out", "Only drops"];
const NEAR = 26; // px within which a tap means the puddle that is there

export class PourEntry extends Sheet {
  constructor(form, plan, room, onShow, onSaved) {
    super(form);
    Object.assign(this, { plan, room, onShow, onSaved, marks: [], at: -1, looked: false, photo: null });
    this.watch = this.#kept();
    this.size = { width: Number(form.dataset.width), depth: Number(form.dataset.depth) };
    for (const node of all(".steps, .watch, .fills, .marks", form)) node.hidden = false;
    this.fields.who.value ||= kept.get("who");
    form.addEventListener("click", (event) => this.#click(event));
    form.addEventListener("change", (event) => this.#changed(event.target));
    form.addEventListener("input", (event) => this.#typed(event.target.name));
    find("#open-entry").addEventListener("click", () => this.show("pour"));
    this.#tick();
    if (this.watch.length) this.show("pour"); // it was running when the page went away
    else this.refresh();
  }

  show(step) {
    super.show(step);
    this.onShow(true);
  }

  close() {
    super.close();
    this.onShow(false);
  }

  // A tap on the plan: a puddle in the second step, the place of bucket or head in the first.
  tap(x, y, scale) {
    const { width, depth } = this.size, point = [Math.min(width, Math.max(0, x)), Math.min(depth, Math.max(0, y))];
    if (this.form.dataset.at === "look") {
      const near = this.marks.findIndex((mark) => Math.hypot(mark.x - x, mark.y - y) * scale < NEAR);
      if (near < 0) this.marks.push({ x: point[0], y: point[1], across: "", deep: "" });
      this.at = near < 0 ? this.marks.length - 1 : near;
      this.looked = false;
      this.#write();
    } else if (this.form.dataset.at === "pour" && this.fields.how.value !== "over the floor") {
      [this.fields.x.value, this.fields.y.value] = point.map((length) => trade(length, 4));
    }
    this.refresh();
  }

  // Milliseconds since 1970 at start, end of pour and drops, as many as were pressed.
  #kept() {
    try { return JSON.parse(kept.get(`watch ${this.room}`) || "[]"); } catch { return []; }
  }

  #press() {
    this.watch.push(Date.now());
    if (this.watch.length > 1) this.fields[this.watch.length === 2 ? "over" : "drained"].value = clock(Math.max(1, (this.watch.at(-1) - this.watch[0]) / 1000));
    this.#keep();
  }

  #again() {
    if (this.watch.length === 1 || confirm("Start the watch over? Its times are lost.")) {
      this.watch = [];
      this.fields.over.value = this.fields.drained.value = "";
      this.#keep();
    }
  }

  #keep() {
    kept.set(`watch ${this.room}`, this.watch.length ? JSON.stringify(this.watch) : "");
    this.refresh();
  }

  #tick() {
    const runs = this.watch.length > 0 && this.watch.length < 3, until = runs ? Date.now() : this.watch.at(-1) ?? 0;
    const seconds = Math.floor(Math.max(0, until - (this.watch[0] ?? until)) / 1000);
    const text = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`, box = find("#watch", this.form);
    if (box.textContent !== text) box.textContent = text;
    setTimeout(() => this.#tick(), 200);
  }

  refresh() {
    const { form, fields, watch, marks } = this, step = form.dataset.at, n = watch.length;
    for (const button of all(".steps button", form)) button.setAttribute("aria-pressed", String(button.dataset.stepTo === step));
    find("#watch-says").textContent = SAYS[n] ?? "Now look for puddles that stay.";
    const press = find("#press");
    press.hidden = n > 2;
    press.textContent = PRESS[n] ?? "";
    find("#again").hidden = !n;
    for (const node of all("[data-place]", form)) node.hidden = fields.how.value === "over the floor";
    const over = fields.over.value, drained = fields.drained.value;
    find("#poured-says").textContent = [fields.poured.value || "how much?", fields.how.value, over && `in ${over}`, drained && `drops after ${drained}`].filter(Boolean).join(", ");
    for (const button of all("[data-fill]", form)) button.setAttribute("aria-pressed", String(fields[button.dataset.fill].value === button.textContent));
    find("#look-says").textContent = marks.length ? "Tap the next puddle, or Next." : "Tap the plan at each puddle that stays.";
    find("#none").setAttribute("aria-pressed", String(this.looked));
    find("#none").hidden = marks.length > 0;
    this.#list();
    find("#who-says").textContent = ["Heat and flow at the head, name, note", fields.who.value].filter(Boolean).join(" · ");
    const saw = marks.length ? `${marks.length} puddle${marks.length > 1 ? "s" : ""}` : this.looked ? "looked, none seen" : fields.puddles.value ? "puddles as typed" : "nobody looked for puddles";
    find("#test-says").textContent = `${find("#poured-says").textContent}; ${saw}.`;
    this.plan.entry = this.open && step === "look" ? { kind: "puddles", marks, at: this.at } : null;
    if (this.plan.picture) this.plan.draw();
  }

  #list() {
    const list = find(".marks", this.form), mark = this.marks[this.at], sizes = find(".sizes", this.form);
    list.replaceChildren(...this.marks.map((_, n) => {
      const item = make("li");
      item.append(make("button", { type: "button", "data-mark": n, "aria-pressed": String(n === this.at), "aria-label": `Puddle ${n + 1}` }, n + 1));
      if (n === this.at) item.append(make("button", { type: "button", "data-drop": n, "aria-label": `Remove puddle ${n + 1}` }, "✕"));
      return item;
    }));
    sizes.hidden = !mark;
    if (!mark) return;
    find("#sizes-says").textContent = `Puddle ${this.at + 1}, where you measured:`;
    for (const button of all("[data-across]", sizes)) button.setAttribute("aria-pressed", String(mark.across === button.dataset.across));
    for (const button of all("[data-deep]", sizes)) button.setAttribute("aria-pressed", String(mark.deep === button.dataset.deep));
  }

  // The field that is sent holds the puddles as they are typed by hand.
  #write() {
    const text = ({ x, y, across, deep }) => [`${trade(x, 4)} / ${trade(y, 4)}`, across && `${across} across`, deep && `${deep} deep`].filter(Boolean).join(", ");
    this.fields.puddles.value = this.looked ? "none" : this.marks.map(text).join("; ");
    this.fault("puddles", "");
  }

  #click(event) {
    const data = event.target.closest("button")?.dataset ?? {}, { id } = event.target.closest("button") ?? {}, mark = this.marks[this.at];
    if ("close" in data) this.close();
    else if ("stepTo" in data) this.show(data.stepTo);
    else if ("fill" in data) { this.fields[data.fill].value = event.target.textContent; this.fault(data.fill, ""); }
    else if (id === "press") this.#press();
    else if (id === "again") this.#again();
    else if (id === "none") { this.looked = !this.looked; this.#write(); }
    else if ("mark" in data) this.at = Number(data.mark);
    else if ("drop" in data) { this.marks.splice(Number(data.drop), 1); this.at = -1; this.#write(); }
    else if ("across" in data) { mark.across = mark.across === data.across ? "" : data.across; this.#write(); }
    else if ("deep" in data) { mark.deep = mark.deep === data.deep ? "" : data.deep; this.#write(); }
    else return;
    if (this.open) this.refresh();
  }

  #typed(name) {
    this.fault(name, "");
    if (name === "puddles") { this.marks = []; this.at = -1; this.looked = this.fields.puddles.value.trim().toLowerCase() === "none"; }
    if (name !== "photo") this.refresh();
  }

  #changed(field) {
    if (field.name === "photo") this.#take(field.files[0]);
  }

  async #take(file) {
    const preview = find("#preview");
    this.photo = file ?? null;
    preview.hidden = true;
    this.fault("photo", "");
    const made = file && await smaller(file, preview);
    if (made && this.fields.photo.files[0] === file) { this.photo = made; preview.hidden = false; }
  }

  async save() {
    const sent = new FormData(this.form);
    sent.delete("photo");
    if (this.photo) sent.set("photo", this.photo, "photo.jpg");
    if (this.fields.how.value === "over the floor") for (const name of ["x", "y"]) sent.delete(name);
    const saved = await this.send(sent, `${decodeURIComponent(new URL(this.form.action).pathname.split("/")[2])}: water test`);
    if (!saved) return;
    kept.set("who", this.fields.who.value);
    this.fields.id.value = newId();
    for (const name of ["over", "drained", "puddles", "hottest", "flow", "note", "photo", "x", "y"]) this.fields[name].value = "";
    Object.assign(this, { marks: [], at: -1, looked: false, photo: null, watch: [] });
    find("#preview").hidden = true;
    this.#keep();
    this.close();
    toast(saved.kept ? "Kept on this phone." : "Saved.");
    if (!saved.kept) this.onSaved();
  }

  // The step that holds a fault is shown, with what is folded in it.
  faulty(fields) {
    const box = fields.map((field) => find(`[data-fault="${CSS.escape(field)}"]`, this.form)).find(Boolean);
    if (!box) return;
    for (const details of all("details", this.form)) if (find(".fault:not(:empty)", details)) details.open = true;
    const step = box.closest(".step")?.dataset.step;
    if (step) this.show(step);
  }
}
