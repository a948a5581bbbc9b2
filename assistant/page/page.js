// Follows the session by server-sent events and posts presses. Only text is ever put in place.
"use strict";

const SVG = "http://www.w3.org/2000/svg";
const TAGS = new Set(["circle", "line", "path", "text"]);
const NUMBERS = new Set(["cx", "cy", "r", "x1", "y1", "x2", "y2", "x", "y", "d", "text-anchor"]);
const LOOKS = /^[a-z]{1,12}$/;
const SILENT_MS = 5000; // ten beats without a word: the session is gone
const ANSWER_MS = 400; // less than a beat: the session knows that this page is looked after
const AGAIN_MS = 1000;
const BUSY_MS = 1500;
const ARMED_MS = 5000;

const by = (id) => document.getElementById(id);
const body = document.body;
const words = JSON.parse(body.dataset.words); // the page's own, in the session's language
let source = null;
let heardAt = 0;
let answeredAt = 0;
let shown = null; // the state on the screen
let over = "";
let marked = -1; // cuts marked as made on the part
let fitted = ""; // the lettering that the sizes were worked out for
let busy = false; // a press is on its way

// --- connection

function connect() {
  if (source) source.close();
  heardAt = Date.now();
  source = new EventSource("/events");
  source.addEventListener("state", (e) => { alive(); show(JSON.parse(e.data)); });
  source.addEventListener("level", (e) => { alive(); level(JSON.parse(e.data)); });
  source.addEventListener("meter", (e) => { alive(); put(by("level-name"), JSON.parse(e.data).words); });
  source.addEventListener("hears", (e) => { alive(); hears(JSON.parse(e.data)); });
  source.addEventListener("beat", alive);
  source.addEventListener("over", (e) => { over = JSON.parse(e.data).why; gone(); if (wake) wake.release(); });
  source.onerror = () => {
    gone();
    // A refused stream is not tried again by the browser itself.
    if (source.readyState === EventSource.CLOSED) setTimeout(connect, AGAIN_MS);
  };
}

function alive() {
  heardAt = Date.now();
  over = "";
  body.classList.remove("is-gone");
  by("gone").hidden = true;
  if (heardAt - answeredAt >= ANSWER_MS) answer();
}

// A page that is closed or hangs does not answer any more, and the session says so.
function answer() {
  answeredAt = heardAt;
  post("/here", { token: body.dataset.token }).catch(() => {});
}

function post(path, facts) {
  return fetch(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(facts),
  });
}

function gone() {
  body.classList.add("is-gone");
  put(by("gone-head"), over ? words.closed : words.gone);
  put(by("gone-why"), over || words.old);
  by("gone").hidden = false;
  enable(false);
}

setInterval(() => {
  if (Date.now() - heardAt > SILENT_MS) { gone(); connect(); }
}, 1000);

// --- what is shown

function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function show(state) {
  if (state.edition !== body.dataset.edition) { location.reload(); return; }
  shown = state;
  busy = false;
  body.dataset.phase = state.phase;
  document.title = `${state.heading} · ${state.cut}/${state.of} · ${state.title}`;
  put(by("heading"), state.heading);
  put(by("tally"), state.tally);
  put(by("cut"), String(state.cut));
  put(by("of"), `/${state.of}`);
  put(by("label"), state.label);
  put(by("awaited"), state.awaited);
  put(by("said"), state.said);
  put(by("title"), state.title);
  put(by("pass"), state.pass);
  put(by("batch"), state.batch);
  put(by("press-name"), state.press);
  put(by("scale"), state.scale || words.none);
  put(by("done"), state.made);
  put(by("answer"), state.answer);
  body.dataset.order = state.order ? "yes" : "";
  body.dataset.move = state.move ? "yes" : "";
  cells("cells", state.cells);
  cells("steady", state.steady);
  room(state);
  entry(state.entry);
  check("lock", state.lock);
  check("guard", state.guard);
  heard(state);
  warn(state.warnings);
  draw("plate-drawing", state.plate);
  draw("part-drawing", state.part);
  if (state.part) made(state.part);
  enable(true);
  fit();
}

// What can't matter in this step is gone, and leaves its room to what does.
const PLACES = { lock: "#lock", guard: "#guard", scale: "#scale-box", plate: ".plate", part: ".part" };

function room(state) {
  for (const [what, where] of Object.entries(PLACES)) {
    const place = document.querySelector(where);
    place.hidden = !state.needed.includes(what) || (place.tagName === "FIGURE" && !place.querySelector("svg"));
  }
  put(by("measured"), state.measured);
  by("measured").hidden = !state.measured;
  put(by("notes"), state.notes.join("\n"));
  by("notes").hidden = state.notes.length === 0;
}

// A figure is typed. To go on without a size is chosen on purpose, under More.
function entry(wanted) {
  const skips = Boolean(wanted && wanted.skips);
  by("typed").hidden = !wanted;
  by("press").hidden = skips;
  by("skip").hidden = !skips;
  if (wanted) put(by("figure-label"), wanted.label);
}

function cells(id, list) {
  const box = by(id);
  const text = JSON.stringify(list);
  if (box.dataset.text === text) return;
  box.dataset.text = text;
  box.replaceChildren(...list.map(([figure, words]) => {
    const cell = document.createElement("p");
    const big = document.createElement("b");
    const small = document.createElement("span");
    big.className = "far";
    put(big, figure);
    small.className = "far";
    put(small, words);
    cell.append(big, " ", small);
    return cell;
  }));
}

const SIGNS = { yes: "✓", off: "", no: "", taken: "✓", refused: "✗", other: "·" };

function check(id, answer) {
  const box = by(id);
  box.dataset.state = answer.state;
  put(box.querySelector(".sign"), SIGNS[answer.state] || "");
  put(box.querySelector(".words"), answer.words);
}

function heard(state) {
  if (!state.heard) return; // what was heard before stays until something new is heard
  const box = by("heard");
  box.dataset.verdict = state.verdict;
  put(box.querySelector(".sign"), SIGNS[state.verdict] || "");
  put(box.querySelector(".words"), state.heard);
}

// Beside what was heard last, and no text of its own: it changes with each sentence, and the
// lettering is not worked out anew for it.
function hears(now) {
  body.dataset.hears = now.state;
  by("heard").dataset.hears = now.words;
}

function warn(warnings) {
  by("lost").hidden = warnings.length === 0;
  put(by("lost"), warnings.join("\n"));
}

function level(message) {
  const none = message.level === null;
  if (by("level-box").hidden !== none) {
    by("level-box").hidden = none;
    fit();
  }
  by("level").value = message.level || 0;
}

// --- drawings: circles, lines and lettering from numbers; nothing else is let in

function mark([tag, numbers, look, words, data]) {
  if (!TAGS.has(tag)) return null;
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(numbers)) {
    if (NUMBERS.has(name)) element.setAttribute(name, String(value));
  }
  if (LOOKS.test(look)) element.setAttribute("class", look);
  for (const [name, value] of Object.entries(data)) element.dataset[name] = value;
  if (words) element.textContent = words;
  return element;
}

function draw(id, drawing) {
  const picture = by(id);
  if (!picture || !drawing) return;
  picture.lastElementChild.replaceChildren(...drawing.marks.map(mark).filter(Boolean));
  put(by(`${id}-caption`), drawing.caption);
}

function made(part) {
  by("part-drawing").classList.toggle("rough", part.rough);
  if (part.done === marked) return;
  marked = part.done;
  for (const cut of document.querySelectorAll("#part-drawing .cut")) {
    cut.classList.toggle("made", Number(cut.dataset.last) < part.done);
  }
}

// --- lettering that is never clipped: what would not fit is made smaller

function fit() {
  const counted = document.querySelectorAll(
    ".far, .heard, .said, .lost, .notes, .block, .facts dt, #typed label, figcaption");
  const lettering = [innerWidth, innerHeight, body.dataset.phase, by("level-box").hidden,
    by("typed").hidden, ...[...counted].map(shape)].join("|");
  if (lettering === fitted) return;
  fitted = lettering;
  const sheet = by("sheet");
  const [now, drawings] = sheet.children;
  const wide = matchMedia("(min-width: 60rem) and (orientation: landscape)").matches;
  const onEnd = matchMedia("(min-width: 37.01rem) and (orientation: portrait)").matches;
  const both = wide || onEnd;
  sheet.classList.add("measured"); // each column as high as it needs to be
  for (const element of document.querySelectorAll(SHRUNK)) size(element, 1);
  for (const id of ["cells", "said"]) size(by(id), 1, "--grow");
  size(drawings, both ? LEAST_DRAWN : 1);
  const tooHigh = () => sheet.offsetHeight + 2 * sheet.offsetTop > innerHeight;
  const around = sheet.offsetHeight - Math.max(now.offsetHeight, drawings.offsetHeight);
  const room = innerHeight - around - 2 * sheet.offsetLeft - 2;
  const last = document.querySelector("button[data-gesture=hold]");
  const nowTooHigh = () => {
    if (wide) return now.offsetHeight > room;
    // On a phone the drawings may lie below; the answer may not.
    return onEnd ? tooHigh() : last.getBoundingClientRect().bottom + scrollY > innerHeight;
  };
  shrink(now, nowTooHigh, 0.3, "--high");
  for (const element of document.querySelectorAll(SHRUNK)) shrink(element, () => tooWide(element), 0.3);
  // Where there is no more room, a long order gives way; where there is, the figures take it.
  shrink(by("awaited"), () => tooWide(by("awaited")) || nowTooHigh(), 0.4);
  shrink(by("cells"), () => tooWide(by("cells")) || nowTooHigh(), 1, "--grow", MOST_GROWN);
  // What is left over goes to the words that were said: they are read from afar as well.
  shrink(by("said"), nowTooHigh, 1, "--grow", MOST_GROWN);
  const drawnTooHigh = () => wide ? drawings.offsetHeight > room : onEnd && tooHigh();
  size(by("lost"), 1);
  shrink(drawings, drawnTooHigh, LEAST_DRAWN);
  shrink(by("lost"), drawnTooHigh, 0.4);
  sheet.classList.remove("measured");
}

const MOST_GROWN = 1.8;
const LEAST_DRAWN = 0.14;
const SHRUNK = "#heading, .tally, #awaited, #measured, #cells, #steady, .check dd, #scale";

function tooWide(element) {
  return element.scrollWidth > element.clientWidth + 1;
}

// Figures are equally wide: 23 takes the room of 24, and need not be measured again.
function shape(element) {
  return element.textContent.replace(/\d/g, "0");
}

function shrink(element, tooLarge, least, name = "--fit", most = 1) {
  let low = least;
  let high = most;
  size(element, most, name);
  if (!tooLarge()) return;
  while (high - low > 0.01) { // the largest size that fits, by halving
    const middle = (low + high) / 2;
    size(element, middle, name);
    if (tooLarge()) high = middle; else low = middle;
  }
  size(element, low, name);
}

function size(element, factor, name = "--fit") {
  const text = factor.toFixed(3);
  if (element.style.getPropertyValue(name) !== text) {
    element.style.setProperty(name, text);
  }
}

addEventListener("resize", () => shown && fit());

// --- presses: the same events as the pedal's, under the same rules

function enable(on) {
  const expected = new Set((shown && [...shown.expected, ...shown.acts]) || []);
  for (const button of document.querySelectorAll("button")) {
    const wanted = button.dataset.command || button.dataset.act;
    button.disabled = !on || Boolean(wanted && !expected.has(wanted));
  }
  by("figure").disabled = !on || !expected.has("figure");
  if (by("figure").disabled) by("figure").value = "";
  disarm();
}

// What ends the job takes two taps.
function armed(button) {
  if (button.dataset.act !== "scrap" || button.textContent === words.surely) return true;
  put(button, words.surely);
  setTimeout(disarm, ARMED_MS);
  return false;
}

function disarm() {
  put(document.querySelector("[data-act=scrap]"), words.scrap);
}

async function press(button) {
  if (busy) return; // until the session has answered: a second tap answers no new question
  if (!armed(button)) return;
  busy = true;
  setTimeout(() => { busy = false; }, BUSY_MS);
  const facts = { token: body.dataset.token, question: shown.question, ...button.dataset };
  if (facts.act === "figure") facts.figure = by("figure").value;
  try {
    const reply = await post("/press", facts);
    if (reply.status === 403) location.reload();
  } catch {
    gone();
  }
}

for (const button of document.querySelectorAll("button")) {
  button.addEventListener("click", () => press(button));
}

by("typed").addEventListener("submit", (e) => {
  e.preventDefault();
  const give = document.querySelector("[data-act=figure]");
  if (!give.disabled) press(give);
});

// --- a tablet that goes to sleep shows nothing: it is kept awake where the browser can

let wake = null;

async function stayAwake() {
  if (!navigator.wakeLock || document.hidden || over || (wake && !wake.released)) return;
  try {
    wake = await navigator.wakeLock.request("screen");
  } catch {
    wake = null; // the battery is low, or the browser is not allowed to
  }
}

document.addEventListener("visibilitychange", stayAwake);

by("sleeps").hidden = Boolean(navigator.wakeLock);
stayAwake();
connect();
