// A room's water: joins plan, film, player, entry and answers.
import { Film } from "./film.js";
import { legend } from "./legend.js";
import { Plan } from "./plan.js";
import { Player } from "./player.js";
import { PourEntry } from "./pour.js";
import { all, find, getJson, make, pause, renew, withdraw } from "./tools.js";

export function water(main, data) {
  const path = main.dataset.water, verdict = find("#verdict"), answers = find("#answer"), form = find("#entry");
  let asked = 0;
  const film = new Film(find("#film"));
  const plan = new Plan(find("#map"), (x, y, scale) => { if (entry?.open) entry.tap(x, y, scale); else player.toggle(); });
  plan.show = "water";
  plan.onView = () => { if (film.play) film.place(plan); };
  const player = new Player(find("#player"), film, (settled) => {
    plan.settled = settled;
    find("#hang").hidden = !settled; // what still lies there then may be no pond
    if (plan.picture) plan.draw();
  });
  const entry = form && new PourEntry(form, plan, path, (open) => {
    if (open) player.pause();
    film.hide(open); // what is computed is not shown to whoever looks for puddles
    plan.seeing = open;
    if (plan.picture) plan.draw();
  }, () => {
    scrollTo(0, 0);
    ask();
  });

  function paint(picture) {
    find("#plan").hidden = false;
    plan.set({ ...picture, ponds: film.play?.puddles ?? [], seen: film.play?.seen ?? [], place: film.play?.place ?? null });
    if (film.play) legend(plan, find("#legend"), film.key());
  }

  function put(body) {
    verdict.innerHTML = body.verdict;
    verdict.className = ["meets", "fails", "not-proven"].find((name) => find(".mark", verdict).classList.contains(name)) ?? "open";
    renew(answers, body.answer);
    find("#hang").textContent = body.hang;
    main.dataset.refined = body.refined ? "yes" : "first";
  }

  async function play(picture, query, mine) {
    const { ok, body } = await getJson(`${path}/water-play.json${query}`);
    if (!ok || mine !== asked) return;
    player.load(body, entry?.open);
    paint(picture);
    film.place(plan);
    main.dataset.played = query ? "first" : "yes";
  }

  function refuse(says) {
    verdict.className = "open";
    verdict.replaceChildren(make("p", { class: "says" }, says ?? "The water could not be computed."));
    main.dataset.refined = "failed";
  }

  // First the estimate, then the refined answer, with how far it is; what a newer question has overtaken is dropped.
  async function ask(queries = ["?first=1", ""]) {
    const mine = ++asked;
    if (queries.length > 1) main.dataset.refined = "no"; // what stands there is about other readings and tests
    for (const query of queries) {
      for (;;) {
        const { ok, status, body } = await getJson(`${path}/water-answer.json${query}`);
        if (mine !== asked) return;
        if (status === 202) { told(`${query ? "Pouring" : "First estimate, refining"}: ${Math.round(100 * body.share)} %.`); continue; }
        if (!ok && status) { refuse(body.error); return; }
        if (!ok) { told("No answer from the server; trying again…"); await pause(2000); continue; }
        put(body);
        if (body.picture) { paint(body.picture); await play(body.picture, body.refined ? "" : query, mine); }
        if (body.refined) return;
        break;
      }
      if (mine !== asked) return;
    }
  }

  function told(words) {
    const state = find(".state", verdict);
    if (state) state.textContent = words;
  }

  find("#hang").textContent = data.hang;
  if (data.picture) paint(data.picture);
  ask(main.dataset.refined === "no" ? undefined : main.dataset.refined === "first" ? ["?first=1", ""] : [""]);
  for (const button of all("[data-zoom]")) button.addEventListener("click", () => {
    if (button.dataset.zoom === "fit") plan.whole();
    else plan.zoomAbout(...plan.middle, button.dataset.zoom === "in" ? 1.6 : 1 / 1.6);
  });
  answers.addEventListener("submit", (event) => withdraw(event, () => { scrollTo(0, 0); ask(); }));
  addEventListener("sent", () => ask());
  // Somebody else may have read or poured meanwhile.
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !entry?.open) ask([""]); });
}
