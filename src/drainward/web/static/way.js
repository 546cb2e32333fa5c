// The way in on a room's page: the last answer while a new one is looked for, and the way turn by turn.
import { all, find, getJson, pause } from "./tools.js";

export async function way(box, path) {
  const state = find("#way-state", box), answer = find("#way-answer", box);
  turns(answer);
  if (box.dataset.found === "yes") return;
  for (;;) {
    const { ok, status, body } = await getJson(`${path}/way-in-answer.json`);
    if (status === 202) {
      const share = `${Math.round(100 * body.share)} %`;
      state.textContent = `${answer.children.length ? "The plan was changed: looking anew" : "Looking for the clearest way"}, ${share}${body.says ? `, ${body.says}` : ""}.`;
    } else if (!ok && !status) {
      state.textContent = "No answer from the server; trying again…";
      await pause(2000);
    } else {
      state.textContent = ok ? "" : body.error ?? "The way in could not be computed.";
      answer.innerHTML = ok ? body.answer : "";
      box.dataset.found = ok ? "yes" : "failed";
      turns(answer);
      return;
    }
  }
}

// One step at a time, the sheet brought near to it; one past the last shows the whole way again.
function turns(answer) {
  const bar = find(".turns", answer), svg = find(".drawn svg", answer);
  if (!bar || !svg) return;
  const steps = all("ol li", answer), groups = all("[data-turn]", svg), whole = svg.getAttribute("viewBox");
  let at = -1;
  const show = () => {
    groups.forEach((group, n) => group.classList.toggle("at", n === at));
    steps.forEach((step, n) => step.classList.toggle("at", n === at));
    find("p", bar).textContent = at < 0 ? `${steps.length} steps, one by one` : `${at + 1} of ${steps.length}: ${steps[at].textContent}`;
    svg.setAttribute("viewBox", at < 0 || !groups[at] ? whole : near(groups[at].getBBox(), whole.split(" ").map(Number)));
  };
  bar.hidden = false;
  bar.addEventListener("click", (event) => {
    const by = Number(event.target.closest("button")?.dataset.turnBy ?? 0);
    if (!by) return;
    at = (at + 1 + by + steps.length + 1) % (steps.length + 1) - 1;
    show();
  });
  show();
}

// A window in the shape of the whole one, around a step, never nearer than a third.
function near({ x, y, width, height }, [, , wide, tall]) {
  const share = Math.min(1, Math.max(1 / 3, 1.6 * width / wide, 1.6 * height / tall)), w = wide * share, h = tall * share;
  const held = (middle, size, most) => Math.min(most - size, Math.max(0, middle - size / 2));
  return [held(x + width / 2, w, wide), held(y + height / 2, h, tall), w, h].map((value) => value.toFixed(1)).join(" ");
}
