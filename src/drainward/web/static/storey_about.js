// What is chosen on a storey's plan, in words and fields that can be typed in; the plan changes with them.
import { metres, written } from "./lengths.js";
import { along, cell, dist, key, legs, lengthen, put, setCell, wallOf } from "./storey_shape.js";
import { make } from "./tools.js";

const NAMES = { wall: "Wall", door: "Door", ceiling: "Ceiling", start: "Start", goal: "Pocket of room" };

// Fields of a thing: [label, text, what a typed text does (a sentence where it cannot), kind of field, choices].
// page : list, unit, rooms, chosen leg; made anew after each change
export function fields(page, thing) {
  const size = (name, label, hint = "") => [label, cell(thing, name), (text) => (!text || metres(text) !== null ? setCell(thing, name, text) : NOT), "length", hint];
  const name = ["Name", thing.name, (text) => renamed(page, thing, text), "text"];
  const note = ["Note", cell(thing, "note"), (text) => setCell(thing, "note", text), "text"];
  if (thing.kind === "wall") return [...wallLength(page, thing), size("thickness", "Thickness", '4-1/2"'), name, note];
  if (thing.kind === "door") return [...doorPlace(page, thing), size("height", "Head, up from the floor", "none"), size("trim", "Trim to come off, each jamb"), ...leaf(thing), name, note];
  if (thing.kind === "ceiling") return [size("height", "Height over the floor", "measure it"), name, note];
  if (thing.kind === "start") return [name, note];
  return [["Room", thing.name, (text) => renamed(page, thing, text), "choice", roomsFor(page, thing)], ...opening(page, thing), note];
}

const NOT = `is not a length; write 12'-6 3/8", 36-1/2" or 3810 mm`;

export const title = (thing, leg) => (thing.kind === "wall" && legs(thing).length > 1 && leg !== null ? `Wall ${thing.name}, leg ${leg + 1}` : `${NAMES[thing.kind]} ${thing.name}`);

function measured(text, least, set) {
  const size = metres(text);
  if (size === null) return NOT;
  if (size < least) return `is too short; at least ${written(least)}`;
  set(size);
  return "";
}

function wallLength(page, wall) {
  const n = page.leg ?? legs(wall).length - 1, leg = legs(wall)[n];
  if (!leg) return [];
  return [["Length, mid to mid", written(dist(...leg), page.unit), (text) => measured(text, 0.02, (size) => lengthen(page.list, wall, n, size, page.unit)), "length"]];
}

function renamed(page, thing, text) {
  const plain = text.trim().replace(/\s+/g, " ");
  const other = page.list.find((one) => one !== thing && one.kind === thing.kind && key(one.name) === key(plain));
  if (other) return `is the name of another ${thing.kind === "goal" ? "pocket" : thing.kind}`;
  if (!plain) return "is blank; a name tells it from the others";
  thing.name = plain;
  return "";
}

// How far the near jamb is from the corner of the wall's leg, and the clear width: as a tape takes them.
function doorPlace(page, door) {
  const on = wallOf(page.list, door), width = dist(...door.points);
  const way = on && on.from[1] < on.from[0] ? -1 : 1, low = on ? Math.min(...on.from) : 0;
  const put2 = (from, wide) => {
    const ends = way > 0 ? [from, from + wide] : [from + wide, from];
    if (!on || from < 0 || from + wide > on.long + 1e-6) return `does not fit: the wall there is ${written(on?.long ?? 0)} long`;
    ends.forEach((far, n) => put(door.points[n], along(on.leg, far), page.unit));
    return "";
  };
  const set = (least, place) => (text) => { let says = ""; return measured(text, least, (size) => { says = place(size); }) || says; };
  const fields = [["Clear width", written(width, page.unit), set(0.2, (size) => put2(low, size)), "length"]];
  if (on) fields.push(["From the wall's first corner", written(low, page.unit), set(0, (size) => put2(size, width)), "length"]);
  return fields;
}

// The open leaf stands off the door's first point, to the left or right of the way to its second.
function leaf(door) {
  const now = key(cell(door, "leaf")), side = now === "left" || now === "right" ? now : "none";
  const swap = () => {
    const [a, b] = door.points, place = (at) => ({ x: at.x, y: at.y, tx: at.tx, ty: at.ty }), [first, second] = [place(a), place(b)];
    Object.assign(a, second);
    Object.assign(b, first);
    if (side !== "none") setCell(door, "leaf", side === "left" ? "right" : "left");
  };
  const acts = [["No leaf", side === "none", () => setCell(door, "leaf", cell(door, "leaf") ? "none" : "")], ["One side", side === "left", () => setCell(door, "leaf", "left")], ["Other side", side === "right", () => setCell(door, "leaf", "right")]];
  if (side !== "none") acts.push(["Other jamb", null, swap]);
  return [["Leaf when it stands open", "", null, "acts", acts]];
}

function roomsFor(page, goal) {
  const taken = new Set(page.list.filter((one) => one !== goal && one.kind === "goal").map(({ name }) => key(name)));
  const free = page.rooms.map(({ room }) => room).filter((room) => !taken.has(key(room)));
  return free.some((room) => key(room) === key(goal.name)) ? free : [goal.name, ...free];
}

function opening(page, goal) {
  const [a, b] = goal.points, width = dist(a, b);
  const set = (text) => measured(text, 0.2, (size) => put(b, { x: a.x + (b.x - a.x) * size / width, y: a.y + (b.y - a.y) * size / width }, page.unit));
  const turn = () => { const [p, q] = [{ x: a.x, y: a.y, tx: a.tx, ty: a.ty }, { x: b.x, y: b.y, tx: b.tx, ty: b.ty }]; Object.assign(a, q); Object.assign(b, p); };
  return [["Width of the opening", written(width, page.unit), set, "length"], ["The unit stands in the shaded box", "", null, "acts", [["Turn to the other side", null, turn]]]];
}

// One field as a node; `onSet` gets what it does, and is told when it was done.
export function node([label, text, set, kind, more], onSet) {
  if (kind === "acts") {
    const row = make("div", { class: "row wide-field", role: "group", "aria-label": label });
    row.append(make("span", { class: "label" }, label), ...more.map(([words, pressed, act]) => {
      const button = make("button", { type: "button", ...(pressed === null ? {} : { "aria-pressed": String(pressed) }) }, words);
      button.addEventListener("click", () => onSet(act));
      return button;
    }));
    return row;
  }
  const box = make("label", {}, ""), fault = make("span", { class: "fault", role: "alert" });
  const input = make(kind === "choice" ? "select" : "input", kind === "length" ? { inputmode: "none", "data-length": "", placeholder: more ?? "" } : {});
  if (kind === "choice") input.append(...more.map((one) => make("option", {}, one)));
  input.value = text;
  input.autocomplete = "off";
  const apply = () => {
    if (input.value === text) { fault.textContent = ""; return; }
    const says = onSet(() => set(input.value));
    if (says) fault.textContent = `“${input.value}” ${says}.`;
  };
  input.addEventListener("change", apply);
  input.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); apply(); } });
  input.apply = apply;
  box.append(make("span", { class: "label" }, label), input, fault);
  return box;
}
