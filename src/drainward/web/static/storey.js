// The plan of a storey, drawn with a finger: what a touch does, undo, saving. Nothing drawn is lost before it is saved.
import { Keys } from "./keys.js";

import { fields, node, title } from "./storey_about.js";
import { draw } from "./storey_draw.js";
import * as shape from "./storey_shape.js";
import { View } from "./storey_view.js";
import { all, find, getJson, kept, make, newId, toast } from "./tools.js";

const TOOLS = {
  move: ["✥", "Move", "Touch a thing to choose it; drag its rings. Drag beside it to move the sheet, two fingers to zoom."],
  wall: ["▬", "Wall", "Tap from corner to corner, or drag. Tap the ring to end the wall. Then type what the tape said."],
  door: ["⌓", "Door", "Tap a wall where the door is."],
  ceiling: ["▱", "Ceiling", "Tap round what is under one ceiling; end at the first corner. Then type its height."],
  start: ["●", "Start", "Tap where the unit comes from: lift, stair or street door."],
  goal: ["⊓", "Pocket", "Tap both ends of the opening of a room's pocket, the left one first as seen from the room."],
};
const GRIDS = [["1 in", 0.0254], ["3 in", 0.0762], ["6 in", 0.1524], ["1 ft", 0.3048], ["50 mm", 0.05], ["100 mm", 0.1]];
const NEAR = 26, MOVED = 9, UNDOS = 100, DOOR = 36 * 0.0254;

export class Storey {
  constructor(main, data) {
    Object.assign(this, { main, data, writable: data.writable && !data.closed.length, tool: "move", chosen: null, leg: null, pen: null, preview: null, undos: [], wrong: new Map(), id: newId() });
    this.store = `storey ${data.floor}`;
    this.grid = GRIDS.find(([name]) => name === kept.get("grid"))?.[1] ?? GRIDS[1][1];
    this.keys = new Keys(find("#pad"), (field) => field.apply());
    this.view = new View(find("#sheet"), this);
    this.#take(data);
    this.#draft();
    this.#tools();
    this.#page();
    this.view.whole(this.list);
    this.show();
    if (!this.list.length && this.writable) this.#use("wall");
  }

  get unit() { return this.keys.unit; }
  get rooms() { return this.data.rooms; }
  get reach() { return NEAR / this.view.scale; }
  get held() { return this.chosen ? this.chosen.points[(this.leg ?? 0) + 1] ?? this.chosen.points[0] : this.penPoint; }
  get saved() { return this.main.dataset.saved === "yes"; }

  #take(data) {
    this.data = data;
    const { list, aside } = shape.things(data.rows);
    Object.assign(this, { list, aside, digest: data.digest });
  }

  // What was drawn and not saved, when the page was left.
  #draft() {
    let draft = null;
    try { draft = JSON.parse(kept.get(this.store) || "null"); } catch { /* kept by nobody */ }
    if (!draft || !this.writable) return;
    if (draft.digest !== this.digest && !confirm("The plan was changed by somebody else since you drew. Take up your drawing? Cancel throws it away.")) { kept.set(this.store, ""); return; }
    const known = new Set(this.data.rows.map(({ line }) => line));
    Object.assign(this, { list: draft.list, id: draft.id });
    if (draft.digest !== this.digest) {
      // Its lines are those of another file: it is drawn on this one anew.
      for (const { points } of this.list) for (const at of points) at.line = undefined;
    } else this.aside = draft.aside.filter(({ line }) => known.has(line));
    this.main.dataset.saved = "no";
    toast("Taken up where you left off; it is not saved yet.");
  }

  // ---- changes

  // Before a change: what undo brings back.
  mark() { return JSON.stringify({ list: this.list, aside: this.aside }); }

  done(before) {
    if (before === this.mark()) { this.show(); return; }
    this.undos.push(before);
    if (this.undos.length > UNDOS) this.undos.shift();
    this.#drawn();
    this.show();
  }

  #drawn() {
    this.id = newId(); // another drawing is another sending
    this.main.dataset.saved = "no";
    this.wrong = new Map();
    kept.set(this.store, JSON.stringify({ digest: this.digest, list: this.list, aside: this.aside, id: this.id }));
  }

  // A change that may say why it cannot be; then nothing is changed.
  change(act) {
    const before = this.mark(), says = act();
    if (says) { this.#restore(before); return says; }
    this.done(before);
    return "";
  }

  #restore(text) {
    const n = this.list.indexOf(this.chosen);
    Object.assign(this, JSON.parse(text));
    this.chosen = this.list[n] ?? null;
    if (this.chosen && !shape.legs(this.chosen)[this.leg]) this.leg = this.chosen.points.length > 1 ? this.chosen.points.length - 2 : null;
    if (this.pen) this.pen = this.chosen?.kind === this.pen.kind ? { kind: this.pen.kind, thing: this.chosen } : null;
  }

  undo() {
    if (this.pen && !this.pen.thing) { this.pen = null; this.show(); return; }
    const before = this.undos.pop();
    if (!before) return;
    this.#restore(before);
    this.#drawn();
    this.show();
  }

  #delete() {
    const before = this.mark(), thing = this.chosen;
    this.list = this.list.filter((one) => one !== thing);
    Object.assign(this, { chosen: null, leg: null, pen: null });
    this.done(before);
  }

  // The chosen leg's far corner goes; a wall of one leg goes whole.
  #cut() {
    const thing = this.chosen;
    if (thing.points.length < 3) { this.#delete(); return; }
    const before = this.mark();
    thing.points.splice(this.leg + 1, 1);
    this.leg = Math.min(this.leg, thing.points.length - 2);
    this.done(before);
  }

  choose(thing, leg = null) { Object.assign(this, { chosen: thing, leg, pen: null }); this.show(); }

  #use(tool) {
    this.keys.close();
    Object.assign(this, { tool, pen: null, preview: null });
    if (tool !== "move") Object.assign(this, { chosen: null, leg: null });
    this.show();
  }

  // ---- touches; raw : metres

  get penPoint() { return this.pen ? this.pen.thing?.points.at(-1) ?? this.pen.at : null; }

  snap(raw, from = null, skip = null) { return shape.snapped(this.list, raw, { from, grid: this.grid, reach: this.reach, unit: this.unit, skip }); }

  // What a drag that begins here does; null moves the sheet.
  begin(raw) {
    this.keys.close();
    if (!this.writable) return null;
    if (this.tool === "move") return this.#grip(raw);
    if (!["wall", "ceiling", "goal"].includes(this.tool)) return { kind: "tap" };
    const near = this.pen && shape.dist(this.penPoint, raw) < this.reach;
    return { kind: "line", from: near ? this.penPoint : this.snap(raw), pen: near };
  }

  #grip(raw) {
    const { chosen } = this;
    if (!chosen) return null;
    const end = chosen.points.find((at) => shape.dist(at, raw) < this.reach);
    if (end && !(chosen.kind === "door" && shape.dist(...chosen.points) < this.reach)) return { kind: "end", end, before: this.mark() };
    const body = chosen.kind === "door" && shape.wallOf(this.list, chosen) && shape.onLeg(raw, chosen.points).off < this.reach;
    return body ? { kind: "door", before: this.mark(), from: raw, points: chosen.points.map(({ x, y }) => ({ x, y })) } : null;
  }

  drag(grip, raw) {
    if (grip.kind === "line") this.preview = { from: grip.from, to: this.snap(raw, grip.from) };
    else if (grip.kind === "tap") this.preview = { from: null, to: this.snap(raw) };
    else if (grip.kind === "end") this.#moveEnd(grip.end, raw);
    else if (grip.kind === "door") this.#slide(grip, raw);
    this.paint();
  }

  // A second finger came down, or the browser took the first: what was moved so far stays.
  leave(grip) {
    this.preview = null;
    if (grip.before) this.done(grip.before);
    else this.paint();
  }

  drop(grip, raw, tapped) {
    this.preview = null;
    if (grip?.kind === "end" || grip?.kind === "door") { this.done(grip.before); return; }
    if (this.tool === "move") { if (tapped) this.#pick(raw); else this.paint(); return; }
    if (!grip) { this.paint(); return; }
    if (grip.kind === "line" && !tapped) this.#line(grip.pen ? null : grip.from, this.snap(raw, grip.from));
    else if (grip.kind === "line") this.#corner(raw, grip.pen);
    else if (this.tool === "door") this.#door(raw);
    else this.#start(this.snap(raw));
  }

  // The end of a leg that stands: what else ends there goes along.
  #moveEnd(end, raw) {
    const { chosen } = this, n = chosen.points.indexOf(end), beside = chosen.points[n - 1] ?? chosen.points[n + 1] ?? null;
    if (chosen.kind === "door") { this.#jamb(chosen, n, raw); return; }
    const to = this.snap(raw, chosen.kind === "start" ? null : beside, end);
    if (chosen.points.some((at) => at !== end && !shape.same(at, end) && shape.same(at, to) && Math.abs(chosen.points.indexOf(at) - n) === 1)) return;
    this.preview = { from: null, to };
    if (chosen.kind === "wall") shape.carry(this.list, [[end, to]], this.unit);
    if (!shape.same(end, to)) Object.assign(end, { x: to.x, y: to.y, tx: to.tx, ty: to.ty });
  }

  #jamb(door, n, raw) {
    const on = shape.wallOf(this.list, door);
    if (!on) return;
    const other = on.from[1 - n], far = Math.round(shape.onLeg(raw, on.leg).share * on.long / this.grid) * this.grid;
    if (far < 0 || far > on.long || Math.abs(far - other) < 0.2) return;
    shape.put(door.points[n], shape.along(on.leg, far), this.unit);
  }

  #slide(grip, raw) {
    const on = shape.wallOf(this.list, this.chosen);
    if (!on) return;
    const width = Math.abs(on.from[1] - on.from[0]), low = Math.round((shape.onLeg(raw, on.leg).share * on.long - width / 2) / this.grid) * this.grid;
    const held = Math.max(0, Math.min(low, on.long - width)) - Math.min(...on.from);
    on.from.forEach((far, n) => shape.put(this.chosen.points[n], shape.along(on.leg, far + held), this.unit));
  }

  #pick(raw) {
    const score = ({ kind, points }) => {
      if (points.length === 1) return shape.dist(points[0], raw) * 0.5;
      const ring = kind === "ceiling" ? [...points, points[0]] : points;
      const off = Math.min(...shape.legs({ points: ring }).map((leg) => shape.onLeg(raw, leg).off));
      return off * { wall: 1, ceiling: 1.2 }[kind] || off * 0.6;
    };
    const reach = Math.max(this.reach, 0.1), best = this.list.map((thing) => [score(thing), thing]).filter(([far]) => far < reach).sort((p, q) => p[0] - q[0])[0]?.[1] ?? null;
    let leg = null;
    if (best?.kind === "wall") shape.legs(best).forEach((one, n) => { if (leg === null || shape.onLeg(raw, one).off < shape.onLeg(raw, shape.legs(best)[leg]).off) leg = n; });
    this.choose(best, leg);
  }

  #new(kind, points, cells = {}) {
    const free = kind === "goal" ? this.rooms.map(({ room }) => room).find((room) => !this.list.some((one) => one.kind === "goal" && shape.key(one.name) === shape.key(room))) : null;
    const name = free ?? (kind === "start" && !this.list.some((one) => one.kind === "start") ? "street door" : shape.freeName(this.list, kind));
    const thing = { kind, name, thickness: null, points: points.map((at) => ({ x: at.x, y: at.y, tx: at.tx, ty: at.ty, cells: {} })) };
    for (const [column, text] of Object.entries(cells)) shape.setCell(thing, column, text);
    this.list.push(thing);
    this.chosen = thing;
    return thing;
  }

  // A tap with a tool that draws lines: the first sets the pen, the next draw on from it, one on the pen itself ends it.
  #corner(raw, onPen) {
    if (onPen) { this.pen = null; this.show(); return; }
    if (!this.pen) { Object.assign(this, { pen: { kind: this.tool, at: this.snap(raw) }, chosen: null, leg: null }); this.show(); return; }
    this.#line(null, this.snap(raw, this.penPoint));
  }

  // From `from`, or on from the pen where that is null.
  #line(from, to) {
    const before = this.mark(), begun = from ? null : this.pen?.thing, first = from ?? this.penPoint;
    if (shape.same(first, to)) { this.show(); return; }
    if (begun && this.tool === "ceiling" && shape.same(begun.points[0], to)) { this.pen = null; this.show(); return; }
    const kind = this.tool;
    if (begun && kind !== "goal") begun.points.push({ x: to.x, y: to.y, tx: to.tx, ty: to.ty, cells: {} });
    else this.#new(kind, [first, to]);
    this.chosen = begun ?? this.chosen;
    this.leg = kind === "wall" ? this.chosen.points.length - 2 : null;
    this.pen = kind === "goal" || (kind === "wall" && shape.closed(this.chosen)) ? null : { kind, thing: this.chosen };
    this.done(before);
  }

  #door(raw) {
    const walls = this.list.filter(({ kind }) => kind === "wall").flatMap(shape.legs).map((leg) => [shape.onLeg(raw, leg), leg]).sort((p, q) => p[0].off - q[0].off);
    const [at, leg] = walls[0] ?? [];
    if (!at || at.off > Math.max(this.reach * 1.3, 0.1)) { toast("A door is in a wall: tap the wall."); return; }
    const long = shape.dist(...leg), width = Math.min(DOOR, long);
    const low = Math.max(0, Math.min(Math.round((at.share * long - width / 2) / this.grid) * this.grid, long - width)), before = this.mark();
    this.#new("door", [low, low + width].map((far) => { const p = shape.along(leg, far); return shape.point(p.x, p.y, this.unit); }));
    this.leg = null;
    this.done(before);
  }

  #start(to) {
    const before = this.mark();
    this.#new("start", [to]);
    this.leg = null;
    this.done(before);
  }

  // ---- what is shown

  paint() {
    const sheet = find("#sheet"), { x, y, scale } = this.view;
    sheet.innerHTML = draw(this.view, { ...this, pen: this.penPoint });
    sheet.dataset.view = `${x} ${y} ${scale}`;
  }

  show() {
    this.paint();
    for (const button of all("#tools button")) button.setAttribute("aria-pressed", String(button.dataset.tool === this.tool));
    const wrong = this.chosen && this.wrong.get(this.chosen);
    find("#hint").textContent = wrong ?? (this.chosen ? "" : this.list.length || this.tool !== "move" ? TOOLS[this.tool][2] : "Nothing is drawn here yet.");
    find("#hint").classList.toggle("wrong", Boolean(wrong));
    this.#about();
    const save = find("#save");
    if (!save) return;
    save.disabled = this.saved;
    save.textContent = this.saved ? "Saved" : "Save";
  }

  #about() {
    const { chosen } = this, head = make("div", { class: "bar" }), box = find("#about");
    const button = (text, act, more = {}) => { const one = make("button", { type: "button", ...more }, text); one.addEventListener("click", act); return one; };
    head.append(make("h2", {}, chosen ? title(chosen, this.leg) : "Nothing chosen"));
    if (this.writable) {
      if (this.pen) head.append(button("End", () => { this.pen = null; this.show(); }));
      if (chosen?.kind === "wall" && chosen.points.length > 2) head.append(button("⌫ leg", () => this.#cut()));
      if (chosen) head.append(button("Delete", () => this.#delete()));
      head.append(button("Undo", () => this.undo(), this.undos.length || this.pen ? {} : { disabled: "" }));
    }
    head.append(button("⋯", () => this.#more(), { "aria-label": "More of this plan", class: this.data.problems.length || this.data.closed.length ? "narrow flagged" : "narrow" }));
    const grid = make("div", { class: "fields" });
    if (chosen && this.writable) grid.append(...fields(this, chosen).map((field) => node(field, (act) => this.change(act))));
    const room = chosen?.kind === "goal" && this.saved && this.#room(chosen.name);
    if (room) grid.prepend(this.#wayTo(room));
    box.replaceChildren(head, grid);
  }

  #tools() {
    const box = find("#tools");
    if (!this.writable) { box.hidden = true; return; }
    box.append(...Object.entries(TOOLS).map(([tool, [icon, words]]) => {
      const button = make("button", { type: "button", "data-tool": tool });
      button.append(make("i", { "aria-hidden": "true" }, icon), make("span", {}, words));
      button.addEventListener("click", () => this.#use(tool));
      return button;
    }));
  }

  #page() {
    const more = find("#more");
    for (const button of all("[data-zoom]")) button.addEventListener("click", () => {
      if (button.dataset.zoom === "fit") this.view.whole(this.list);
      else this.view.zoom(button.dataset.zoom === "in" ? 1.5 : 1 / 1.5);
      this.paint();
    });
    find("#about").addEventListener("focusin", ({ target }) => { if ("length" in target.dataset) { this.keys.close(); this.keys.open(target); target.select(); } else this.keys.close(); });
    find("#about").addEventListener("keydown", (event) => { if (event.key === "Enter" || event.key === "Escape") this.keys.close(); });
    find("#floors")?.addEventListener("change", ({ target }) => { location.assign(`/plan?floor=${encodeURIComponent(target.value)}`); });
    find("#save")?.addEventListener("click", () => this.save());
    find("[data-shut]").addEventListener("click", () => more.close());
    find("#discard")?.addEventListener("click", () => { if (confirm("Throw away all that was drawn since it was last saved?")) { kept.set(this.store, ""); location.reload(); } });
    find("#grid").append(...GRIDS.map(([name]) => make("option", {}, name)));
    find("#grid").value = GRIDS.find(([, size]) => size === this.grid)[0];
    find("#grid").addEventListener("change", ({ target }) => { this.grid = GRIDS.find(([name]) => name === target.value)[1]; kept.set("grid", target.value); });
    find("#who").value = kept.get("who");
    find("#who").addEventListener("change", ({ target }) => kept.set("who", target.value));
    find("#sheet").addEventListener("keydown", (event) => { if (event.key === "Delete" && this.chosen && this.writable) this.#delete(); else if (event.key === "Escape") this.#use("move"); });
    addEventListener("keydown", (event) => { if ((event.ctrlKey || event.metaKey) && event.key === "z" && !event.target.closest("input")) { event.preventDefault(); this.undo(); } });
  }

  #more() {
    const { problems, closed } = this.data, wrong = find("#wrong"), goals = this.list.filter(({ kind }) => kind === "goal");
    wrong.replaceChildren();
    if (problems.length || closed.length) {
      const list = make("ul", { class: "note warn" });
      list.append(...closed.map((says) => make("li", {}, says)), ...problems.map(({ line, says }) => this.#problem(line, says)));
      wrong.append(make("h3", {}, "What in plan.csv is not understood"), list);
    }
    find("#ways").replaceChildren(...goals.map(({ name }) => this.#room(name)).filter(Boolean).map((room) => this.#wayTo(room)));
    if (goals.length && !this.saved) find("#ways").prepend(make("p", {}, "The way in is looked for on the plan as it was saved last."));
    find("#things").replaceChildren(...this.list.map((thing) => {
      const item = make("li"), button = make("button", { type: "button" }, title(thing, null));
      button.addEventListener("click", () => { find("#more").close(); this.tool = "move"; this.choose(thing, thing.kind === "wall" ? 0 : null); });
      item.append(button);
      return item;
    }));
    find("#more").showModal();
  }

  #room(name) { return this.rooms.find(({ room }) => shape.key(room) === shape.key(name))?.room; }

  #wayTo(room) { return make("a", { href: `/rooms/${encodeURIComponent(room)}/survey#way`, class: "go" }, `Way in to ${room} ›`); }

  // A row that is no point stays in the file until somebody takes it out.
  #problem(line, says) {
    const item = make("li", {}, says);
    if (this.writable && this.aside.some((row) => row.line === line)) {
      const button = make("button", { type: "button" }, "Take this line out");
      button.addEventListener("click", () => { const before = this.mark(); this.aside = this.aside.filter((row) => row.line !== line); this.done(before); item.remove(); });
      item.append(button);
    }
    return item;
  }

  async save() {
    this.keys.close();
    const sent = shape.rows(this.list, this.aside), of = this.list.flatMap((thing) => thing.points.map(() => thing)), save = find("#save"), { id } = this;
    save.disabled = true;
    save.textContent = "Saving…";
    const body = new URLSearchParams({ id, floor: this.data.floor, digest: this.digest, who: kept.get("who"), rows: JSON.stringify(sent) });
    const { ok, body: answer } = await getJson("/plan", { method: "POST", body });
    if (!ok) {
      const problems = answer.problems ?? [{ says: `Not saved. ${answer.error ?? ""} Your drawing is kept on this phone; save again later.`, row: null }];
      this.wrong = new Map(problems.filter(({ row }) => row !== null && row !== undefined && of[row]).map(({ row, says }) => [of[row], says]));
      const [first] = this.wrong.keys();
      if (first) { this.tool = "move"; this.choose(first, first.kind === "wall" ? 0 : null); this.view.see(first.points[0]); this.paint(); } else this.show();
      toast(first ? "Not saved: see what is marked." : problems[0].says);
      return;
    }
    if (this.id !== id) { this.digest = answer.digest; toast("Saved, but for what was drawn meanwhile."); return; }
    const was = this.chosen && [this.chosen.kind, this.chosen.name];
    this.#take(answer);
    this.chosen = was && (this.list.find(({ kind, name }) => kind === was[0] && name === was[1]) ?? null);
    Object.assign(this, { pen: null, undos: [], wrong: new Map() });
    kept.set(this.store, "");
    this.main.dataset.saved = "yes";
    this.show();
    const goals = this.list.filter(({ kind }) => kind === "goal").length;
    toast(`Saved.${answer.problems.length ? " Some rows of plan.csv are not understood: see ⋯." : goals ? " The ways in are under ⋯." : ""}`);
  }
}
