"use strict";
// The questions of a new job: each answer is told at once, and the page comes again with what
// follows from it. What has the keyboard keeps it.
const token = document.querySelector('meta[name="token"]').content;
let turn = Promise.resolve();

// A button that is put in again while a finger is on it does not feel the tap.
let lift = () => {};
let lifted = Promise.resolve();
document.addEventListener("pointerdown", () => {
  lifted = new Promise((done) => {
    lift = () => setTimeout(done, 50); // the click comes after the finger has gone
  });
});
for (const gone of ["pointerup", "pointercancel", "keydown"]) {
  document.addEventListener(gone, () => lift());
}
window.addEventListener("blur", () => lift());

function tell(facts) {
  turn = turn.then(() => told(facts)).catch(() => {});
  return turn;
}

async function told(facts) {
  const answer = await fetch("/press", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ ...facts, token }),
  });
  if (!answer.ok && answer.status !== 409) return;
  const text = await (await fetch("/")).text();
  const fresh = new DOMParser().parseFromString(text, "text/html").querySelector("main");
  await lifted;
  const now = document.activeElement;
  const id = now ? now.id : "";
  const typed = now && now.tagName === "INPUT" ? now.value : null;
  document.querySelector("main").replaceWith(fresh);
  const again = id && document.getElementById(id);
  if (!again) return;
  if (typed !== null) again.value = typed;
  again.focus();
}

// A field that was put in again while somebody typed fires no change when it is left.
function give(field) {
  if (!field.name || !field.isConnected) return;
  const before = field.dataset.told ?? (field.tagName === "INPUT" ? field.defaultValue : null);
  if (field.value === before) return;
  field.dataset.told = field.value;
  tell({ ask: field.name, text: field.value });
}

document.addEventListener("change", (event) => give(event.target));
document.addEventListener("focusout", (event) => {
  if (event.target.tagName === "INPUT") give(event.target);
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
  event.preventDefault();
  const fields = [...document.querySelectorAll("input, select")];
  const next = fields[fields.indexOf(event.target) + 1];
  if (next) next.focus();
  else event.target.blur();
});

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if ("write" in button.dataset) tell({ write: true });
  if ("letters" in button.dataset) {
    const field = button.previousElementSibling;
    field.inputMode = field.inputMode === "text" ? "decimal" : "text";
    field.focus();
  }
});
