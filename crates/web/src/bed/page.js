/* Parts of the page: words in the nursery's language, elements, figures, times. */

export const words = JSON.parse(document.body.dataset.words);

/* Words with their blanks filled. */
export const say = (text, filled = {}) => text.replace(/\{(\w+)\}/g, (_, name) => filled[name] ?? "");

/* Words for one or for many. */
export const many = (pair, n, filled) => say(pair[n === 1 ? 0 : 1], { n: figure(n), ...filled });

/* A whole number, with thin spaces between thousands. */
export const figure = (n) => String(n).replace(/\B(?=(\d{3})+$)/g, "\u202f");

const two = (n) => String(n).padStart(2, "0");

/* The day of a moment, as acts have it. */
export const day = (at) => `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;

/* The time of day, as acts have it. */
export const time = (at) => `${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;

/* The time of day, as people say it. */
export const clock = (ms) => time(new Date(ms)).slice(0, 5);

/* An element with its attributes and what is in it; handlers begin with "on". */
export function el(tag, attributes, ...within) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name.startsWith("on")) {
      made.addEventListener(name.slice(2), value);
    } else if (value === true) {
      made.setAttribute(name, "");
    } else if (value !== false && value !== null && value !== undefined) {
      made.setAttribute(name, value);
    }
  }
  made.append(...within.flat().filter((it) => it !== null && it !== undefined && it !== false && it !== ""));
  return made;
}

/* A button, large enough for gloves. */
export const button = (text, on, kind) => el("button", { type: "button", class: kind, onclick: on }, text);

/* A place on this page, by its parts. */
export const to = (...parts) => `#${parts.map((it) => encodeURIComponent(it)).join("/")}`;

/* The parts of the place that is shown. */
export function here() {
  return location.hash.slice(1).split("/").map((it) => {
    try { return decodeURIComponent(it); } catch { return ""; }
  });
}
