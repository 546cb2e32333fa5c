// Whether the bed carries the floor: a place is knocked on, what is heard is one touch, the next place is shown.
import { sending } from "./form.js";
import { post } from "./outbox.js";
import { INCH, all, find, getJson, kept, newId, pause, renew, toast, trade, withdraw } from "./tools.js";

const QUIET = 2500, AGAIN = 700; // ms without a tap until the answer is asked for, and between two looks at how far it is
const NEAR = 0.06; // m: a tap so near a place was made there, and a touch so near means it

export function support(main, board) {
  const path = main.dataset.support, answers = find("#answer"), form = find("#entry"), share = find("#share");
  let asked = 0;

  async function ask() {
    for (const mine = ++asked; mine === asked; await pause(AGAIN)) {
      const { ok, status, body } = await getJson(`${path}/support-answer.json`);
      if (mine !== asked) return;
      knock?.told(body.board);
      share.hidden = status !== 202;
      if (status === 202) { share.value = body.share; say(`${body.says || "Waiting"}…`); continue; }
      if (ok) { renew(answers, body.answer); main.dataset.known = "yes"; } else say(body.error ?? "It could not be computed.");
      return;
    }
  }

  const say = (words) => { const line = find("#count"); if (line) line.textContent = words; };
  const knock = form && new Knock(find("#knock"), board, form, ask);
  if (form) typed(form, () => knock, ask);
  if (main.dataset.known === "no") ask();
  answers.addEventListener("submit", (event) => withdraw(event, ask));
  addEventListener("sent", ask);
}

function typed(form, knock, onSaved) {
  const { kind } = form.elements;
  const fit = () => {
    for (const part of all("[data-of]", form)) part.hidden = part.dataset.of !== kind.value;
    form.elements.value.placeholder = kind.value === "tap" ? "solid or hollow" : "1/16 in";
  };
  form.addEventListener("change", fit);
  fit();
  sending(form, () => `${kind.value} ${form.elements.value.value}`, ["value", "note"], () => { knock().advance(); onSaved(); });
}

class Knock {
  constructor(box, board, form, ask) {
    Object.assign(this, { box, form, ask, board, own: [], at: null, timer: 0 });
    this.bed = find("#bed", box);
    this.bed.value = board.cured ? "cure" : "draft";
    box.hidden = false;
    this.svg = node("svg", { viewBox: [-60, -60, board.width * 1e3 + 120, board.depth * 1e3 + 150].map(Math.round).join(" "), role: "img" });
    find("#floor", box).append(this.svg);
    this.svg.addEventListener("click", (event) => this.#touched(event));
    this.bed.addEventListener("change", () => { form.elements.stage.value = this.bed.value; this.advance(); });
    box.addEventListener("click", ({ target }) => {
      const { heard, skip, press, undo } = target.closest("button")?.dataset ?? {};
      if (heard) this.#heard(heard);
      else if (skip !== undefined) this.advance(1);
      else if (press !== undefined) this.#press();
      else if (undo !== undefined) this.#undo();
    });
    this.advance();
  }

  // What the server knows, and what was tapped here and is on its way.
  get heard() {
    const known = new Set(this.board.heard.map(({ id }) => id));
    return [...this.board.heard, ...this.own.filter(({ id }) => !known.has(id))].filter(({ stage }) => (stage === "draft") === (this.bed.value === "draft"));
  }

  told(board) {
    if (!board) return;
    this.board = board;
    if (this.at === null) this.advance(); else this.draw();
  }

  // The next place that nobody tapped, from the one that was last; past all of them, where a tap tells most.
  advance(skipped = 0) {
    const { places, next } = this.board, from = places.findIndex((place) => this.at && apart(place, this.at) < NEAR) + skipped;
    const open = (place) => !this.heard.some((tap) => tap.heard !== "press" && apart(place, [tap.x, tap.y]) < NEAR);
    const order = places.map((_, k) => places[(Math.max(from, 0) + k) % places.length]);
    this.at = order.find(open) ?? (next && open(next) ? next : null);
    this.draw();
  }

  #touched(event) {
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    const inch = (length, most) => Math.min(most, Math.max(0, Math.round(length / 1e3 / INCH) * INCH)); // a finger is no finer
    const at = [inch(x, this.board.width), inch(y, this.board.depth)];
    this.at = this.board.places.find((place) => apart(place, at) < NEAR) ?? at;
    this.draw();
  }

  async #heard(heard) {
    if (!this.at) { toast("Touch the place on the drawing first."); return; }
    const [x, y] = this.at, tap = { id: newId(), x, y, heard, stage: this.bed.value };
    const sent = { id: tap.id, kind: "tap", stage: tap.stage, x: millimetres(x), y: millimetres(y), value: heard, who: kept.get("who") };
    this.own.push(tap);
    this.advance();
    const { ok, body } = await post(this.form.action, new URLSearchParams(sent), `${heard} at ${words([x, y])}`);
    if (!ok) {
      this.own = this.own.filter((other) => other !== tap);
      toast(body.problems?.map(({ got, expected }) => `${got} ${expected}`).join("; ") ?? `Not saved: ${body.error ?? "try again"}`);
      this.draw();
      return;
    }
    if (body.kept) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(this.ask, QUIET);
  }

  #press() {
    if (!this.at) { toast("Touch the place on the drawing first."); return; }
    const { kind, stage, x, y, value } = this.form.elements;
    this.form.closest("details").open = true;
    kind.value = "press";
    stage.value = this.bed.value;
    [x.value, y.value] = this.at.map((length) => trade(length, 16));
    this.form.dispatchEvent(new Event("change"));
    value.value = "";
    value.focus();
  }

  async #undo() {
    const last = this.own.at(-1);
    if (!last) { toast("Nothing was tapped here since the page was opened. Older ones are in the list below."); return; }
    const sent = new URLSearchParams({ tap: last.id, why: "slip of the hand while tapping", who: kept.get("who") });
    const { ok } = await getJson(this.form.action.replace(/support$/, "withdrawals"), { method: "POST", body: sent });
    if (!ok) { toast("Not taken back: it is not sent yet, or there is no network. Try again later."); return; }
    this.own = this.own.filter((tap) => tap !== last);
    this.board.heard = this.board.heard.filter(({ id }) => id !== last.id);
    this.at = [last.x, last.y];
    this.draw();
    toast("Taken back.");
    clearTimeout(this.timer);
    this.timer = setTimeout(this.ask, QUIET);
  }

  draw() {
    const { width, depth, drain, places, next } = this.board, heard = this.heard;
    const dot = ([x, y], r, name) => node("circle", { cx: x * 1e3, cy: y * 1e3, r, class: name });
    const taps = heard.map((tap) => tap.heard === "press"
      ? node("rect", { x: tap.x * 1e3 - 20, y: tap.y * 1e3 - 20, width: 40, height: 40, class: "press" })
      : dot([tap.x, tap.y], tap.heard === "hollow" ? 26 : 18, tap.heard));
    const opening = node("text", { x: width * 500, y: depth * 1e3 + 70, class: "opening" });
    opening.textContent = "opening";
    const show = next && heard.length >= places.length / 2;
    this.svg.replaceChildren(
      node("rect", { x: 0, y: 0, width: width * 1e3, height: depth * 1e3, class: "floor" }),
      node("path", { d: `M0 ${depth * 1e3}V0H${width * 1e3}V${depth * 1e3}`, class: "walls" }),
      dot(drain, drain[2] * 1e3, "drain"), opening,
      ...places.map((place) => dot(place, 7, "place")), ...taps,
      ...(show ? [dot(next, 40, "next")] : []), ...(this.at ? [dot(this.at, 46, "at")] : []),
    );
    const done = places.filter((place) => heard.some((tap) => tap.heard !== "press" && apart(place, [tap.x, tap.y]) < NEAR)).length;
    find("#place", this.box).textContent = `${done} of ${places.length} places. ${this.at ? `Knock ${words(this.at)}.` : "All are tapped: touch a place to tap between."}`;
    this.svg.setAttribute("aria-label", `The floor from above: ${done} of ${places.length} places tapped`);
  }
}

function node(tag, attributes) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

const apart = (one, other) => Math.hypot(one[0] - other[0], one[1] - other[1]);
const millimetres = (length) => `${(length * 1e3).toFixed(1)} mm`;
const words = ([x, y]) => `${trade(x)} from the left, ${trade(y)} from the back`;
