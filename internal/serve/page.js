// @ts-check
// What plain forms cannot do: read scans as soon as both are there, show how far an examination is,
// tell of changes that another tab made, and keep the casts in view while the case is filled in.
const body = document.body, id = (/** @type {string} */ x) => /** @type {any} */ (document.getElementById(x));

const files = id("files");
files?.addEventListener("change", () => {
  if (files.files.length > 1 || /\.zip$/i.test(files.files[0]?.name ?? "")) files.form.requestSubmit();
});
// A file that is dropped beside the field does not take the place of the page.
for (const name of ["dragover", "drop"]) {
  addEventListener(name, (/** @type {any} */ e) => {
    if (e.target === files) return;
    e.preventDefault();
    if (name === "drop" && files && e.dataTransfer.files.length) {
      files.files = e.dataTransfer.files;
      files.dispatchEvent(new Event("change"));
    }
  });
}
// The keyboard stays where it was; by itself a browser does that only without a place in the address,
// to which it goes when all is loaded.
addEventListener("load", () => setTimeout(() => /** @type {any} */ (document.querySelector("[autofocus]"))?.focus()));

// What changes the case without leaving it: the page stays, and what it shows is brought up to date.
const stays = /^(tooth|correct|renumber|remove|undo|anew|keep|mount|point|pair|apart|together)\b/;
let busy = false;
/** @type {any} the casts in 3D */
let casts = null;

async function act(/** @type {string} */ what) {
  if (busy) return;
  busy = true;
  body.dataset.busy = "yes";
  const form = new URLSearchParams(/** @type {any} */ (new FormData(id("case"))));
  form.set("do", what);
  const answer = await fetch("/case", { method: "POST", body: form }).catch(() => null);
  if (!answer) return (id("lost").hidden = false);
  if (answer.url.endsWith("?stale")) return location.replace(answer.url);
  await refresh(what);
}

// refresh brings the parts of the page up to date, once nothing is computed any more.
async function refresh(/** @type {string} */ what) {
  const text = await (await fetch("/")).text();
  const now = new DOMParser().parseFromString(text, "text/html");
  const stage = now.body.dataset.stage;
  if (stage === "working") {
    id("doing").textContent = now.getElementById("text")?.textContent;
    waiting = () => refresh(what);
    if (last && !last.text && String(last.rev) !== now.body.dataset.rev) wake(); // it has ended in the meantime
    return;
  }
  if (stage !== body.dataset.stage) return location.replace("/");
  const open = new Set([...document.querySelectorAll("details[open]")].map((d) => d.id));
  for (const part of document.querySelectorAll("[data-part]")) {
    const other = now.querySelector(`[data-part="${part.getAttribute("data-part")}"]`);
    if (other) part.replaceWith(document.adoptNode(other));
  }
  for (const d of document.querySelectorAll("details")) if (d.id && open.has(d.id)) d.open = true;
  body.dataset.rev = now.body.dataset.rev;
  for (const e of document.querySelectorAll("input[name=rev]")) /** @type {any} */ (e).value = body.dataset.rev;
  id("doing").textContent = "";
  id("changed").hidden = true;
  busy = false;
  delete body.dataset.busy;
  const again = document.querySelector(`button[value="${CSS.escape(what)}"]`);
  if (document.activeElement === body || !document.activeElement) /** @type {any} */ (again)?.focus();
  if (/^(correct|renumber|remove|undo|anew|apart|together)/.test(what)) await casts?.reload();
  else casts?.mark();
}
/** @type {(() => void) | null} what waits for the end of what is computed */
let waiting = null;
/** @type {any} what the server said last */
let last = null;
function wake() {
  const go = waiting;
  waiting = null;
  go?.();
}

// A form goes once.
for (const form of document.forms) {
  let sent = false;
  form.addEventListener("submit", (e) => {
    const what = /** @type {any} */ (e.submitter)?.value ?? "";
    if (form.id === "case" && stays.test(what)) {
      e.preventDefault();
      act(what);
      return;
    }
    if (sent || busy) e.preventDefault();
    sent = !busy;
  });
}
addEventListener("pageshow", (e) => {
  if (e.persisted) location.reload();
});
if (id("casts")) import("/casts.js").then((m) => m.start(act)).then((c) => (casts = c)).catch((e) => console.warn("3D view: " + e.message));

// The casts while they are examined: those who want less motion see them closed.
/** @type {any} */
let moving = null;
const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
async function show(/** @type {number[]} */ at) {
  if (!id("moving")) return;
  if (!moving) {
    moving = import("/casts.js").then((m) => m.watch()).catch((e) => console.warn("3D view: " + e.message));
    (await moving)?.(at);
  } else if (!still) (await moving)?.(at);
}

let leaving = false;
addEventListener("pagehide", () => (leaving = true));
const events = new EventSource("/events");
events.onopen = () => (id("lost").hidden = true);
events.onerror = () => {
  if (!leaving) id("lost").hidden = false;
};
events.onmessage = (e) => {
  const state = (last = JSON.parse(e.data));
  if (busy) {
    if (state.text) id("doing").textContent = state.text;
    else wake();
    return;
  }
  if (String(state.rev) !== body.dataset.rev) {
    if (body.dataset.stage === "working") location.replace("/");
    else id("changed").hidden = false;
    return;
  }
  const bar = id("bar");
  if (!bar) return;
  if (state.at) show(state.at);
  id("text").textContent = state.text;
  if (state.total) [bar.max, bar.value] = [state.total, state.done];
  else bar.removeAttribute("value");
};
