/* Where something is entered: figures by a pad of large keys, reasons by a tap. The lot's name stays in sight. */

import { button, el, figure, many, say, words as w } from "./page.js";
import { amount, plants, stand_of } from "./stock.js";

/* A field of figures; which one the keys write to is marked. */
class Pad {
  constructor(fields) {
    this.fields = fields;
    this.fresh = true;
    this.sum = el("p", { class: "mind", role: "status" });
    this.inputs = fields.map((field, at) => el("input", {
      id: `field-${field.key}`, name: field.key, type: "text", inputmode: "none", autocomplete: "off", pattern: "[0-9]*",
      value: field.value ?? "", onfocus: () => this.turn_to(at), oninput: (event) => this.typed(event.target),
    }));
  }

  /* The figure in a field; none where it is empty. */
  value(key) {
    const text = this.inputs[this.fields.findIndex((it) => it.key === key)]?.value;
    return text ? Number(text) : undefined;
  }

  turn_to(at) {
    this.at = at;
    this.fresh = true;
    this.inputs.forEach((it, other) => it.classList.toggle("turn", other === at));
  }

  typed(input) {
    input.value = input.value.replace(/\D/g, "").slice(0, 7);
    this.fresh = false;
    this.changed();
  }

  /* The first key after one came to a field writes it anew. */
  press(key) {
    const input = this.inputs[this.at];
    if (key === "back") {
      input.value = input.value.slice(0, -1);
    } else {
      input.value = (this.fresh ? "" : input.value) + key;
    }
    this.typed(input);
  }

  changed() {
    this.sum.textContent = this.tell ? this.tell(this) : "";
  }

  draw() {
    const label = (field, at) => el("label", { for: `field-${field.key}` }, el("span", {}, field.label), this.inputs[at]);
    const key = (text) => button(text, () => this.press(text), "key");
    const next = () => this.inputs[(this.at + 1) % this.inputs.length].focus();
    this.turn_to(0);
    this.changed();
    return [
      el("div", { class: "fields" }, this.fields.map(label)),
      this.sum,
      el("div", { class: "pad" }, ["1", "2", "3", "4", "5", "6", "7", "8", "9"].map(key),
        el("button", { type: "button", class: "key plain", "aria-label": w.rub_out, onclick: () => this.press("back") }, "\u232b"),
        key("0"),
        this.inputs.length > 1 && el("button", { type: "button", class: "key plain", "aria-label": w.next_field, onclick: next }, "\u2192")),
    ];
  }
}

/* Reasons as large taps, one of them chosen; `other` is a field for words of one's own. */
function reasons(label, pairs, other) {
  const name = "reason";
  const words = other && el("input", { type: "text", maxlength: "200", "aria-label": w.say_it, placeholder: w.say_it });
  const set = el("fieldset", { class: "reasons" }, el("legend", {}, label),
    pairs.map(([value, text]) => el("label", { class: "chip" },
      el("input", { type: "radio", name, value }), el("span", {}, text))), words);
  return {
    drawn: set,
    value: () => (words && words.value.trim()) || set.querySelector("input:checked")?.value || "",
  };
}

/* The frame of an entry: what it is for, its parts, and the button that records. */
function frame(title, lot, below, parts, record) {
  const wrong = el("p", { class: "mind", role: "alert" });
  let is_done = false;
  const press = async () => {
    if (is_done) { return; }
    is_done = true;
    const why = await record();
    wrong.textContent = why || "";
    is_done = !why;
  };
  return [
    el("div", { class: "over" }, el("h1", { tabindex: "-1" }, lot ? [`${lot.lot} `, el("small", {}, title)] : title),
      el("p", {}, below)),
    parts, wrong,
    el("div", { class: "taps last" }, button(w.record, press), button(w.back, () => history.back(), "plain")),
  ];
}

const whole = (value) => Number.isInteger(value);

function count(it, lot, job, was) {
  const knew = plants(lot);
  const pad = new Pad([
    { key: "plants", label: w.plants_stand, value: was?.plants },
    ...(lot.ready > 0 ? [{ key: "ready", label: w.of_these_ready, value: was?.ready }] : []),
  ]);
  return frame(w.count, lot, `${lot.place}, ${stand_of(lot)}`, pad.draw(), () => {
    const [stands, ready] = [pad.value("plants"), pad.value("ready")];
    if (!whole(stands)) { return w.no_figure; }
    if (whole(ready) && ready > stands) { return w.too_many_ready; }
    const deed = { act: "count", lot: lot.lot, plants: stands, ...(whole(ready) ? { ready } : {}) };
    return it.record([{ deed: was ? deed : { ...deed, knew }, said: many(w.said_count, stands), lot, job, was }]);
  });
}

function lose(it, lot, job, was) {
  const pad = new Pad([{ key: "plants", label: w.plants_lost, value: was?.plants }]);
  const why = reasons(w.why_lost, Object.entries(w.losses_by));
  if (was) { why.drawn.querySelector(`[value="${was.reason}"]`).checked = true; }
  return frame(w.losses, lot, `${lot.place}, ${stand_of(lot)}`, [pad.draw(), why.drawn], () => {
    const lost = pad.value("plants");
    if (!lost) { return w.no_figure; }
    if (lost > plants(lot)) { return many(w.only_so_many, plants(lot)); }
    if (!why.value()) { return w.no_reason; }
    return it.record([{
      deed: { act: "lose", lot: lot.lot, plants: lost, reason: why.value() },
      said: `${many(w.said_lost, lost)}: ${w.losses_by[why.value()]}`, lot, job, was,
    }]);
  });
}

function unwrap(it, lot, job, was) {
  const pad = new Pad([
    { key: "taken", label: w.taken, value: was?.taken },
    { key: "missed", label: w.missed, value: was?.missed },
    { key: "dead", label: w.dead, value: was?.dead },
  ]);
  const told = () => ["taken", "missed", "dead"].map((key) => pad.value(key) ?? 0);
  const sum = () => told().reduce((all, one) => all + one, 0);
  pad.tell = () => say(w.sum_of, { sum: figure(sum()), n: figure(plants(lot)) });
  return frame(w.take_count, lot, `${lot.place}, ${stand_of(lot)}`, pad.draw(), () => {
    if (!whole(pad.value("taken"))) { return w.no_figure; }
    const [taken, missed, dead] = told();
    const take = {
      deed: { act: "unwrap", lot: lot.lot, taken, missed, dead },
      said: say(w.said_take, { taken: figure(taken), missed: figure(missed), dead: figure(dead) }), lot, job, was, does: sum(),
    };
    if (sum() === plants(lot) || was) { return it.record([take]); }
    /* The books have another number: that is a count of its own, which a person confirms with a second tap. */
    if (pad.confirmed !== sum()) {
      pad.confirmed = sum();
      return say(w.sum_differs, { sum: figure(sum()), n: figure(plants(lot)) });
    }
    const stands = { act: "count", lot: lot.lot, plants: sum(), knew: plants(lot) };
    return it.record([{ deed: stands, said: many(w.said_count, sum()), lot, job }, take]);
  });
}

/* Another number of a job than planned; what stays can be told why. */
function part(it, lot, job) {
  const act = lot ? job.lots.find((there) => there.lot === lot.lot)?.act : job.act;
  if (!act) { return null; }
  const key = act.seeds === undefined ? "plants" : "seeds";
  const left = it.left.get(job.job);
  const pad = new Pad([
    { key, label: key === "seeds" ? w.seeds_done : w.plants_done, value: Math.min(left, act[key] ?? plants(lot)) },
    ...(act.buds === undefined ? [] : [{ key: "buds", label: w.buds_used, value: act.buds }]),
  ]);
  const rest = () => Math.max(0, left - (pad.value(key) ?? 0));
  pad.tell = () => (rest() > 0 ? many(w.rest, rest()) : "");
  const why = reasons(w.why_rest, w.because.map((it) => [it, it]), true);
  return frame(job.name, lot, `${figure(left)} ${job.what}`, [pad.draw(), el("details", {}, el("summary", {}, w.rest_could_not), why.drawn)], () => {
    const done = pad.value(key);
    if (!done) { return w.no_figure; }
    if (lot && done > plants(lot)) { return many(w.only_so_many, plants(lot)); }
    const buds = pad.value("buds");
    /* All of a lot stays that lot; only a part becomes another one. */
    const is_all = act[key] === undefined && done === plants(lot);
    const deed = { ...act, ...(is_all ? {} : { [key]: done }), ...(buds === undefined ? {} : { buds }) };
    const made = [{ deed, said: say(w.said_job, { n: figure(done), job: job.name }), lot, job, does: done }];
    if (rest() > 0 && why.value()) { made.push(noted(job, null, say(w.rest_because, { n: figure(rest()), why: why.value() }))); }
    return it.record(made);
  });
}

const noted = (job, lot, text) => ({ deed: { act: "note", about: job ? job.job : lot.lot, text }, said: text, lot, job });

function note(it, lot, job) {
  const why = reasons(job ? w.could_not_because : w.note, job ? w.because.map((it) => [it, it]) : [], true);
  return frame(job ? job.name : w.note, lot, job ? job.what : lot.place, why.drawn,
    () => (why.value() ? it.record([noted(job, lot, why.value())]) : w.no_reason));
}

function leave(it, lot, id) {
  const why = reasons(w.why_left, w.left_because.map((it) => [it, it]), true);
  return frame(w.leave_it, lot, "", why.drawn, () => (why.value() ? it.leave_out(id, why.value()) : w.no_reason));
}

/* The page of an entry; none where it is of something that is gone. `id` is of an entry that is changed. */
export function enter(it, kind, lot_name, job_name, id) {
  const lot = it.lots.get(lot_name);
  const job = it.list.jobs.find((one) => one.job === job_name);
  const was = id ? it.waiting_act(id) : undefined;
  if (kind === "leave") { return leave(it, lot, id); }
  if (kind === "note" && (job || lot)) { return note(it, lot, job); }
  if (kind === "part" && job) { return part(it, lot, job); }
  const of_lot = { count, lose, unwrap }[kind];
  return of_lot && lot ? of_lot(it, lot, job, was) : null;
}

/* An act of a job as it is planned, said in words. */
export const as_planned = (act, lot, job) => {
  const n = amount(act) ?? (lot ? plants(lot) : 0);
  return { deed: act, said: say(w.said_job, { n: figure(n), job: job.name }), lot, job, does: n };
};
