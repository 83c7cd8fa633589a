"use strict";
// Finds, filters, copies row numbers, changes views, and folds pieces. What the page tells
// is there without it.
const root = document.documentElement;
const VIEWS = ["pieces", "drift", "sheets", "sizes"];
const one = (selector, within = document) => within.querySelector(selector);
const all = (selector, within = document) => [...within.querySelectorAll(selector)];
root.classList.add("js");

// Views ------------------------------------------------------------------------------

/** Read the sheets when they are first asked for: it takes a browser as long as all else. */
function unpack() {
  const packed = one("#sheets noscript");
  // Its text is this page's own markup, in which words are escaped as everywhere.
  if (packed && location.hash.startsWith("#sheet")) {
    packed.parentNode.innerHTML = packed.textContent;
  }
}

/** Show the view that the address asks for, or in which its target lies. */
function show() {
  unpack();
  const name = decodeURIComponent(location.hash.slice(1));
  const target = name && document.getElementById(name);
  const section = target && target.closest("main > section");
  root.dataset.view = section ? section.id : VIEWS.includes(name) ? name : "pieces";
  for (const link of all("nav a")) {
    const here = link.hash === "#" + root.dataset.view;
    if (here) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
  if (target && target.hidden) showAll();
  for (const before of all(".sought")) before.classList.remove("sought");
  if (!target) return;
  target.classList.toggle("sought", target !== section);
  target.scrollIntoView({ block: "start" });
}

// Finding ----------------------------------------------------------------------------

/** Read rows such as "3, 5-9"; null where the text is not of that kind. */
function rowsOf(text) {
  if (!/^\s*\d+\s*(-\s*\d+\s*)?(,\s*\d+\s*(-\s*\d+\s*)?)*,?\s*$/.test(text)) return null;
  return text.split(",").filter((part) => part.trim()).map((part) => {
    const [first, last] = part.split("-").map(Number);
    return [first, last ?? first];
  });
}

const plain = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLocaleLowerCase();

/** Offer the versions of the design that is asked for, and no others. */
function offerVersions(form) {
  const { version, design } = form.elements;
  if (!version || !design) return;
  for (const option of all("[data-of]", version)) {
    const own = !design.value || option.dataset.of.split(" ").includes(design.value);
    option.hidden = option.disabled = !own;
    if (!own && option.selected) version.value = "";
  }
}

/** Hide the pieces that are not asked for, and tell how many are left. */
function find() {
  const form = one("#find");
  offerVersions(form);
  const asked = Object.fromEntries(new FormData(form));
  const rows = rowsOf(asked.words);
  const words = plain(asked.words).split(/\s+/).filter(Boolean);
  const cards = all(".piece");
  let left = 0;
  for (const card of cards) {
    const { row, worst, rules, version, design } = card.dataset;
    const said = () => plain(one("h3 bdi", card).textContent);
    const named = rows
      ? rows.some(([first, last]) => first <= row && row <= last)
      : words.length === 0 || words.every((word) => said().includes(word));
    const shown =
      (named || (rows && said().includes(plain(asked.words.trim())))) &&
      (!asked.worst || worst === asked.worst) &&
      (!asked.rule || (rules || "").split(" ").includes(asked.rule)) &&
      (!asked.version || version === asked.version) &&
      (!asked.design || design === asked.design);
    card.hidden = !shown;
    left += shown;
  }
  form.elements.told.value =
    left === cards.length ? `all ${left} shown` : `${left} of ${cards.length} shown`;
}

function showAll() {
  one("#find").reset();
  find();
}

// Copying ----------------------------------------------------------------------------

async function copy(button) {
  const { row } = button.closest(".piece").dataset;
  const before = [...button.childNodes];
  let done = true;
  try {
    await navigator.clipboard.writeText(row);
  } catch {
    done = copyBySelection(row);
  }
  button.textContent = done ? `Copied ${row}` : `Row ${row}: copy it by hand`;
  setTimeout(() => button.replaceChildren(...before), 1600);
}

/** Copy where a browser gives a page from disk no clipboard. */
function copyBySelection(text) {
  const field = document.createElement("textarea");
  field.value = text;
  document.body.append(field);
  field.select();
  const done = document.execCommand("copy");
  field.remove();
  return done;
}

// A closer look, and folding -----------------------------------------------------------

let playing = 0;
let steps = [];
let folded = 0;

function look(card) {
  const closer = one("#closer");
  const { design } = card.dataset;
  const piece = one("g[id]", card).id;
  one("h2", closer).replaceChildren(...one("h3", card).cloneNode(true).childNodes);
  const large = one(".views", card).cloneNode(true);
  for (const part of all("[id]", large)) {
    const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
    use.setAttribute("href", "#" + part.id);
    part.replaceWith(use);
  }
  one(".large", closer).replaceChildren(...large.childNodes);
  const stage = one(`#${design}-stage`);
  one(".stage", closer).hidden = !stage;
  closer.showModal();
  closer.scrollTop = 0;
  if (!stage) return;
  const told = JSON.parse(one("#folding").textContent)[design];
  ({ steps, folded } = told);
  one(".seen", closer).replaceChildren(stage.content.cloneNode(true));
  all(".leaf", closer).forEach((leaf, nth) => (leaf.dataset.nth = nth));
  for (const use of all(".piece-here", closer)) use.setAttribute("href", "#" + piece);
  const slider = one("input", closer);
  slider.max = steps.length - 1;
  pose(0);
  if (!matchMedia("(prefers-reduced-motion: reduce)").matches) play();
}

/** Show the piece between two steps: maps are near enough to be mixed. */
function pose(at) {
  const closer = one("#closer");
  const here = Math.min(Math.floor(at), steps.length - 1);
  const next = steps[Math.min(here + 1, steps.length - 1)];
  const share = at - here;
  for (const [nth, ...from] of steps[here]) {
    const to = next.find((leaf) => leaf[0] === nth).slice(1);
    const [a, b, c, d, e, f, shade] = from.map((v, i) => v + (to[i] - v) * share);
    const leaf = one(`.seen [data-nth="${nth}"]`);
    leaf.setAttribute("transform", `matrix(${[a, b, c, d, e, f].join(" ")})`);
    leaf.classList.toggle("behind", a * d - b * c < 0);
    one(".shade", leaf).setAttribute("opacity", shade.toFixed(3));
    leaf.parentNode.append(leaf); // furthest first
  }
  one("input", closer).value = at;
}

/** Play from here, or from the start: fold, wait, walk round to the back. */
function play() {
  cancelAnimationFrame(playing);
  const end = steps.length - 1;
  const PER_STEP_MS = 75, WAIT_MS = 900;
  let at = Number(one("#closer input").value);
  if (at >= end) at = 0;
  let last = null;
  let waited = at > folded ? WAIT_MS : 0;
  const tick = (now) => {
    const passed = now - (last ?? now);
    last = now;
    if (at >= folded && waited < WAIT_MS) waited += passed;
    else at = Math.min(end, at < folded ? Math.min(folded, at + passed / PER_STEP_MS)
      : at + passed / PER_STEP_MS);
    pose(at);
    if (at < end) playing = requestAnimationFrame(tick);
  };
  playing = requestAnimationFrame(tick);
}

// Wiring -----------------------------------------------------------------------------

const ACTIONS = {
  copy,
  look: (button) => look(button.closest(".piece")),
  close: () => one("#closer").close(),
  play,
};

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-do]");
  if (button) ACTIONS[button.dataset.do](button);
});
document.addEventListener("DOMContentLoaded", () => {
  const form = one("#find");
  form.addEventListener("input", find);
  form.addEventListener("submit", (event) => event.preventDefault());
  one("#find [type=reset]").addEventListener("click", (event) => {
    event.preventDefault();
    showAll();
  });
  one("#closer input").addEventListener("input", (event) => {
    cancelAnimationFrame(playing);
    pose(Number(event.target.value));
  });
  one("#closer").addEventListener("close", () => cancelAnimationFrame(playing));
  if (matchMedia("(max-width: 40rem)").matches) one(".tools").open = false;
  find();
  show();
});
addEventListener("hashchange", show);
root.dataset.view = VIEWS.find((name) => location.hash === "#" + name) ?? "pieces";
