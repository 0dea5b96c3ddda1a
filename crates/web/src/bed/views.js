/* What is looked at: the week, the lots, a job, a lot, the entries of this phone. */

import { button, clock, el, figure, here, many, say, to, words as w } from "./page.js";
import { amount, plants, stand_of as stand } from "./stock.js";

/* A thing that is tapped, over its whole width. */
const row = (at, ...within) => el("li", {}, el("a", { class: "row", href: at }, ...within));

const quiet = (text) => el("span", { class: "quiet" }, text);

function by_place(things) {
  const places = new Map();
  things.forEach((it) => {
    const place = it.place || w.anywhere;
    places.set(place, [...(places.get(place) || []), it]);
  });
  return [...places];
}

/* A choice that thins a list; it is remembered on the phone. */
function choice(label, all, names, chosen, on) {
  const option = (value, text) => el("option", { value, selected: value === chosen }, text);
  return names.length < 2 ? null : el("label", {}, label,
    el("select", { onchange: (event) => on(event.target.value) }, option("", all), names.map((it) => option(it, it))));
}

const distinct = (names) => [...new Set(names.filter(Boolean))].sort();

const state_of = (job) => w.states[job.state];

export function week(it) {
  const crews = distinct(it.list.jobs.map((job) => job.crew));
  const crew = crews.includes(it.crew) ? it.crew : "";
  const jobs = it.list.jobs.filter((job) => !crew || job.crew === crew);
  const open = jobs.filter((job) => job.state !== "waiting");
  return [
    el("h1", { tabindex: "-1" }, jobs.length > 0 ? many(w.jobs, open.length) : w.no_jobs),
    el("p", { class: "quiet" }, say(w.week_of, { week: it.list.week, day: it.list.day_words })),
    choice(w.crew, w.all, crews, crew, it.choose_crew),
    by_place(jobs).map(([place, there]) => el("section", {},
      el("h2", {}, place),
      el("ul", { class: "rows" }, there.map((job) => row(to("job", job.job),
        el("b", {}, job.name),
        el("span", {}, it.left.get(job.job) > 0 ? `${figure(it.left.get(job.job))} ` : "", job.what),
        quiet(`${state_of(job)}${job.until ? `, ${say(w.until, { week: job.until })}` : ""}`),
        job.could_not && el("span", { class: "mind" }, job.could_not)))))),
  ];
}

export function lots(it) {
  const all = [...it.lots.values()];
  const found = () => {
    const words = it.find.toLowerCase();
    return all.filter((lot) => !words || `${lot.lot} ${lot.place} ${lot.plant}`.toLowerCase().includes(words));
  };
  const rows = el("div", {});
  const fill = () => rows.replaceChildren(...by_place(found()).map(([place, there]) => el("section", {},
    el("h2", {}, place),
    el("ul", { class: "rows" }, there.map((lot) => row(to("lot", lot.lot),
      el("b", {}, lot.lot), el("span", {}, lot.plant), quiet(stand(lot))))))));
  fill();
  return [
    el("h1", { tabindex: "-1" }, many(w.lots_stand, all.length)),
    el("label", {}, w.find,
      el("input", { type: "search", value: it.find, oninput: (event) => { it.find = event.target.value; fill(); } })),
    rows,
  ];
}

/* The head of a job or a lot: its name stays in sight while the page below is moved. */
const head = (name, below) => el("div", { class: "over" }, el("h1", { tabindex: "-1" }, name), el("p", {}, below));

/* What can be entered for a lot, as buttons; `act` is the job's on it. */
function taps(it, lot, job, act) {
  const name = lot.lot;
  const at = (kind) => to("enter", kind, name, job ? job.job : "");
  const link = (kind, text, plain) => el("a", { class: plain ? "button plain" : "button", href: at(kind) }, text);
  const of_act = act && act.act === "unwrap" ? null : act;
  return el("div", { class: "taps" },
    of_act && button(say(w.done_all, { n: figure(amount(of_act) ?? plants(lot)) }), () => it.as_planned(job, lot, of_act)),
    of_act && link("part", w.other_count, true),
    lot.wrapped && link("unwrap", w.take_count),
    link("count", w.count, true),
    link("lose", w.losses, true));
}

export function job(it, name) {
  const of = it.list.jobs.find((one) => one.job === name);
  if (!of) { return gone(); }
  const left = it.left.get(name);
  return [
    head(of.name, `${left > 0 ? `${figure(left)} ` : ""}${of.what}`),
    el("p", {}, el("b", {}, state_of(of)), of.until ? `, ${say(w.until, { week: of.until })}` : "",
      of.hours ? `, ${of.hours} h` : "", of.crew ? `, ${of.crew}` : ""),
    el("p", {}, of.why),
    of.slip && el("p", { class: "quiet" }, say(w.not_this_week, { slip: of.slip })),
    of.supplies && el("p", { class: "quiet" }, say(w.supplies, { supplies: of.supplies })),
    of.could_not && el("p", { class: "mind" }, of.could_not),
    of.act && el("div", { class: "taps" },
      button(say(w.done_all, { n: figure(Math.min(left, amount(of.act))) }), () => it.as_planned(of, null, of.act)),
      el("a", { class: "button plain", href: to("enter", "part", "", name) }, w.other_count)),
    of.office && el("p", {}, el("a", { class: "button plain", href: of.office }, w.on_office_page)),
    of.lots.map((there) => {
      const lot = it.lots.get(there.lot);
      return lot && el("section", {},
        el("h2", {}, el("a", { href: to("lot", lot.lot) }, lot.lot), " ", quiet(`${lot.place}, ${stand(lot)}`)),
        there.source && el("p", { class: "quiet" }, say(w.buds_from, { source: there.source })),
        taps(it, lot, of, there.act));
    }),
    el("a", { class: "button plain wide", href: to("enter", "note", "", name) }, w.could_not),
  ];
}

export function lot(it, name) {
  const of = it.lots.get(name);
  if (!of) { return gone(); }
  return [
    head(name, `${of.place}, ${stand(of)}`),
    el("p", {}, `${of.plant}, ${w.stages[of.stage] || of.stage}`),
    of.held && el("p", { class: "mind" }, w.held),
    taps(it, of, null, null),
    el("a", { class: "button plain wide", href: to("enter", "note", name, "") }, w.note),
  ];
}

const gone = () => [el("h1", { tabindex: "-1" }, w.gone), el("p", {}, el("a", { class: "button plain", href: "#week" }, w.to_week))];

const SIGNS = { waiting: "\u25f7", done: "\u2713", refused: "\u25b2", settled: "\u2713", undone: "\u2013" };

function how(entry) {
  const { answer, state } = entry;
  if (state === "settled") { return w.settled[answer.settled]; }
  return state === "done" && entry.sent ? say(w.sent_at, { time: clock(entry.sent) }) : w.entry_states[state];
}

export function entries(it) {
  const made = it.entries.filter((one) => one.act.act !== "leave_out").reverse();
  const own = new Set(made.map((one) => one.act.id));
  const others = it.list ? it.list.to_settle.filter((one) => !own.has(one.id)) : [];
  const open = made.filter((one) => one.state === "refused");
  return [
    el("h1", { tabindex: "-1" }, w.entries_head),
    (open.length + others.length) > 0 && el("section", {},
      el("h2", {}, w.to_settle_head),
      el("ul", { class: "rows" },
        open.map((one) => row(to("settle", one.act.id), el("b", {}, `\u25b2 ${one.lot || ""}`), el("span", {}, one.said), quiet(one.answer.why))),
        others.map((one) => row(to("settle", one.id), el("b", {}, `\u25b2 ${one.lot || ""}`),
          el("span", {}, one.words), quiet(say(w.made_by, { by: one.by, time: (one.at || "").slice(0, 5) })))))),
    el("section", {},
      made.length === 0 && el("p", {}, w.no_entries),
      el("ul", { class: "plain" }, made.map((one) => el("li", { class: "entry" },
        el("span", { "aria-hidden": "true", class: "sign" }, SIGNS[one.state]),
        el("span", {}, el("b", {}, one.lot || ""), " ", one.said, " ",
          quiet(`${one.act.on} ${(one.act.at || "").slice(0, 5)}, ${how(one)}`)),
        it.can_undo(one) && button(w.undo, () => it.undo(one), "plain"))))),
  ];
}

/* An entry that waits to be settled: what was seen, what the books say, and the taps. */
export function settle(it, id) {
  const own = it.entries.find((one) => one.act.id === id && one.state === "refused");
  const told = it.list && it.list.to_settle.find((one) => one.id === id);
  if (!own && !told) { return gone(); }
  const act = own ? own.act : told.entry;
  const stands = told && told.stands !== null ? told.stands : null;
  const can_change = ["count", "lose", "unwrap"].includes(act.act);
  return [
    head(act.lot || w.to_settle_head, own ? own.said : told.words),
    el("dl", {},
      el("dt", {}, w.seen), el("dd", {}, say(w.made_by, { by: act.by, time: `${act.on} ${(act.at || "").slice(0, 5)}` }),
        act.knew === undefined ? "" : ` ${many(w.knew, act.knew)}`),
      el("dt", {}, w.books), el("dd", {}, stands === null ? "" : `${many(w.stands_now, stands)} `, (own ? own.answer : told).why)),
    el("div", { class: "taps" },
      button(act.knew === undefined ? w.try_again : w.take_it, () => it.take(own, act)),
      can_change && el("a", { class: "button plain", href: to("enter", act.act, act.lot, "", id) }, w.change_it),
      el("a", { class: "button plain", href: to("enter", "leave", act.lot || "", "", id) }, w.leave_it)),
  ];
}

/* Before any list was fetched. */
export const nothing = () => [el("h1", { tabindex: "-1" }, w.nothing_kept)];

export const place = () => here()[0] || "week";
