// The water in time: clock, stream, scrub and speed. Time is seconds since the first water, and the speed is said.
import { INK } from "./ink.js";
import { all, clock, find, flowWords, volumeWords } from "./tools.js";

const WATER = "#2e7aba", PALE = "#d6e8f5", BAND = "#e9e2d0";
const TELLS = 200; // ms between two tellings of the numbers: faster nobody reads
const SAID = { 1: "real time", 10: "10 times real time", 30: "30 times real time" };

export class Player {
  // onSettle: told whether what is shown is what stays, when that changes.
  constructor(box, film, onSettle) {
    Object.assign(this, { box, film, onSettle, playing: false, times: 10, last: 0, told: 0, settled: null });
    this.button = find("#run", box);
    this.scrub = find("#scrub", box);
    this.chart = find("canvas", this.scrub);
    this.head = document.createElement("i");
    this.scrub.append(this.head);
    this.words = ["#now", "#phase", "#stream", "#left", "#spilled"].map((name) => find(name, box));
    this.tick = this.#tick.bind(this);
    this.button.addEventListener("click", () => this.toggle());
    for (const button of all("[data-times]", box)) button.addEventListener("click", () => this.pace(Number(button.dataset.times)));
    this.#finger();
    document.addEventListener("keydown", (event) => this.#key(event));
    new ResizeObserver(() => { if (film.play) this.#draw(); }).observe(this.scrub);
    this.pace(10);
  }

  get end() { return this.film.play.end; }

  // A first play runs by itself, unless somebody is busy or wants things still.
  load(play, busy) {
    const first = !this.film.play;
    this.film.load(play);
    this.box.hidden = false;
    this.scrub.setAttribute("aria-valuemax", play.end.toFixed(1));
    this.#draw();
    if (!first) { this.#tell(); return; }
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.seek(still ? play.end : 0);
    if (!still && !busy) this.run();
  }

  pace(times) {
    this.times = times;
    for (const button of all("[data-times]", this.box)) button.setAttribute("aria-pressed", String(Number(button.dataset.times) === times));
    find("#pace", this.box).textContent = SAID[times];
  }

  toggle() { if (this.playing) this.pause(); else this.run(); }

  run() {
    if (this.playing || !this.film.play) return;
    if (this.film.time >= this.end) this.seek(0);
    this.playing = true;
    this.last = 0;
    this.#shape();
    requestAnimationFrame(this.tick);
  }

  pause() {
    this.playing = false;
    this.#shape();
    if (this.film.play) this.#tell();
  }

  seek(time) {
    this.film.seek(Math.min(this.end, Math.max(0, time)));
    this.#follow();
    this.#tell();
  }

  #tick(now) {
    if (!this.playing) return;
    const past = this.last ? Math.min(0.25, (now - this.last) / 1000) : 0; // a window that was away plays on from where it was
    this.last = now;
    const time = this.film.time + past * this.times;
    if (time >= this.end) { this.seek(this.end); this.pause(); return; }
    this.film.seek(time);
    this.#follow();
    if (now - this.told > TELLS) { this.told = now; this.#tell(); }
    requestAnimationFrame(this.tick);
  }

  #shape() {
    this.button.classList.toggle("playing", this.playing);
    this.button.setAttribute("aria-label", this.playing ? "Pause" : "Play");
  }

  #follow() { this.head.style.transform = `translateX(${this.film.time / this.end * this.wide}px)`; }

  #tell() {
    const { film } = this, { play, time } = film, { likely } = play.drained;
    const pouring = time < play.pour, drops = likely !== null && time >= likely, settled = drops || time >= play.end;
    const phase = `since first water, ${pouring ? "pouring" : drops ? "only drops" : "running off"}`;
    const lost = film.at(film.lost);
    const words = [clock(time), phase, drops ? "only drops" : flowWords(film.at(play.stream)), volumeWords(film.at(play.left)), lost < 1e-7 ? "none" : volumeWords(lost)];
    words.forEach((text, n) => { if (this.words[n].textContent !== text) this.words[n].textContent = text; });
    this.scrub.setAttribute("aria-valuenow", time.toFixed(1));
    this.scrub.setAttribute("aria-valuetext", `${clock(time)} ${phase}`);
    if (settled !== this.settled) { this.settled = settled; this.onSettle(settled); }
  }

  // The stream into the drain against time, with what is marked on it: pour, drops with their 95 % band, watches.
  #draw() {
    const { chart, scrub } = this, { play } = this.film, ratio = devicePixelRatio || 1, wide = scrub.clientWidth, high = scrub.clientHeight;
    if (!wide) return;
    this.wide = wide;
    Object.assign(chart, { width: Math.round(wide * ratio), height: Math.round(high * ratio) });
    const pen = chart.getContext("2d"), x = (time) => time / play.end * wide, base = high - 20, most = Math.max(...play.stream) || 1;
    pen.scale(ratio, ratio);
    pen.fillStyle = PALE;
    pen.fillRect(0, 0, x(play.pour), base);
    const { low, likely, high: late } = play.drained;
    if (low !== null) {
      pen.fillStyle = BAND;
      pen.fillRect(x(low), 0, x(late ?? play.end) - x(low), base);
    }
    pen.fillStyle = WATER;
    pen.beginPath();
    pen.moveTo(0, base);
    play.t.forEach((time, n) => pen.lineTo(x(time), base - play.stream[n] / most * (base - 18)));
    pen.lineTo(wide, base);
    pen.fill();
    pen.fillStyle = pen.strokeStyle = INK;
    pen.lineWidth = 2;
    pen.font = "600 13px system-ui, sans-serif";
    pen.textAlign = "center";
    const mark = (time, text, y, from, to) => {
      const half = pen.measureText(text).width / 2 + 4, at = Math.min(wide - 1, x(time));
      pen.fillRect(at - 1, from, 2, to - from);
      pen.fillText(text, Math.min(wide - half, Math.max(half, at)), y);
    };
    mark(play.pour, `pour ends ${clock(play.pour)}`, 12, 16, base);
    if (likely !== null) mark(likely, `only drops ${play.drained_words}`, high - 6, 16, base);
    for (const time of play.timed) {
      if (time > play.end) continue;
      pen.beginPath();
      pen.arc(x(time), base - 6, 4, 0, 2 * Math.PI);
      pen.fill();
    }
    pen.fillRect(0, base, wide, 1);
    this.#follow();
  }

  #finger() {
    const { scrub } = this;
    let was = false;
    const go = (event) => this.seek((event.clientX - scrub.getBoundingClientRect().left) / this.wide * this.end);
    scrub.addEventListener("pointerdown", (event) => {
      if (event.button || !this.film.play) return;
      scrub.setPointerCapture(event.pointerId);
      was = this.playing;
      this.pause();
      go(event);
    });
    scrub.addEventListener("pointermove", (event) => { if (scrub.hasPointerCapture(event.pointerId)) go(event); });
    const up = (event) => {
      if (!scrub.hasPointerCapture(event.pointerId)) return;
      scrub.releasePointerCapture(event.pointerId);
      if (was) this.run();
    };
    scrub.addEventListener("pointerup", up);
    scrub.addEventListener("pointercancel", up);
  }

  // Space and arrows, unless something else wants them.
  #key(event) {
    if (!this.film.play || event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    const { target } = event, ours = target === document.body || target === this.scrub || target.id === "map";
    if (!ours || this.box.offsetParent === null) return;
    const step = this.end / 60, does = {
      " ": () => this.toggle(),
      ArrowRight: () => this.seek(this.film.time + step), ArrowLeft: () => this.seek(this.film.time - step),
      Home: () => this.seek(0), End: () => this.seek(this.end),
    }[event.key];
    if (!does) return;
    event.preventDefault();
    does();
  }
}
