// @ts-check
// What plain forms cannot do: read scans as soon as both are there, show how far an examination is,
// tell of changes that another tab made, and keep the casts in view while the case is filled in.
const body = document.body, id = (/** @type {string} */ x) => /** @type {any} */ (document.getElementById(x));

const files = id("files");
files?.addEventListener("change", () => {
  if (files.files.length > 1 || /\.zip$/i.test(files.files[0]?.name ?? "")) files.form.requestSubmit();
});
// A file that is dropped beside the field does not take the place of the page. A folder is opened.
for (const name of ["dragover", "drop"]) {
  addEventListener(name, (/** @type {any} */ e) => {
    const folder = name === "drop" && files && [...e.dataTransfer.items].map((x) => x.webkitGetAsEntry()).find((x) => x?.isDirectory);
    if (e.target === files && !folder) return;
    e.preventDefault();
    if (folder) within(folder, "").then(sendFolder);
    else if (name === "drop" && files && e.dataTransfer.files.length) {
      files.files = e.dataTransfer.files;
      files.dispatchEvent(new Event("change"));
    }
  });
}
// A case in a folder: what its case file may name is sent with the names within the folder, results are left where they are.
const most = 5000; // files that are looked at
/** @typedef {{path: string, file: File}} Found */
async function within(/** @type {any} */ entry, /** @type {string} */ path, /** @type {Found[]} */ found = []) {
  if (found.length >= most) return found;
  if (entry.isFile) found.push({ path: path + entry.name, file: await new Promise((done, fail) => entry.file(done, fail)) });
  else {
    const reader = entry.createReader();
    for (let some; (some = await new Promise((done, fail) => reader.readEntries(done, fail))).length; )
      for (const e of some) await within(e, path + entry.name + "/", found);
  }
  return found;
}
async function sendFolder(/** @type {Found[]} */ found) {
  const cases = found.map((f) => f.path).filter((p) => /(^|\/)case\.yaml$/.test(p)).sort((a, b) => a.length - b.length);
  id("no-case").hidden = cases.length > 0;
  if (!cases.length) return;
  const root = cases[0].slice(0, -"case.yaml".length);
  const results = found.map((f) => f.path).filter((p) => /\/(results|steps)\.sha256$/.test(p)).map((p) => p.slice(0, p.lastIndexOf("/") + 1)).filter((r) => r !== root);
  const form = new FormData();
  form.append("rev", body.dataset.rev ?? "");
  for (const { path, file } of found) {
    if (!path.startsWith(root) || !/\.(yaml|stl|ply|obj|json)$/i.test(path) || results.some((r) => path.startsWith(r))) continue;
    form.append("folder", file, path.slice(root.length));
  }
  body.dataset.busy = "yes";
  const answer = await fetch("/scans", { method: "POST", body: form }).catch(() => null);
  if (!answer) return (id("lost").hidden = false);
  location.replace(answer.redirected ? answer.url : "/");
}
const folder = id("folder");
if (folder) {
  id("open-folder").hidden = false;
  folder.addEventListener("change", () =>
    sendFolder([...folder.files].slice(0, most).map((f) => ({ path: f.webkitRelativePath, file: f }))));
}

// Saving into a folder, where the browser can: always into a new one within the one that is chosen.
async function saveFolder(/** @type {HTMLElement} */ button) {
  /** @type {any} */
  const chosen = await /** @type {any} */ (window).showDirectoryPicker({ mode: "readwrite" }).catch(() => null);
  if (!chosen) return;
  const tell = (/** @type {string | undefined} */ text, /** @type {string} */ what) => (id("doing").textContent = (text ?? "").replace(/\{\w+\}/, what));
  try {
    const { rev, names } = await (await fetch("/case.json")).json();
    const there = new Set();
    for await (const name of chosen.keys()) there.add(name);
    let name = "case";
    for (let i = 2; there.has(name); i++) name = `case-${i}`;
    const root = await chosen.getDirectoryHandle(name, { create: true });
    for (const [i, path] of names.entries()) {
      const parts = path.split("/"), file = parts.pop();
      let at = root;
      for (const p of parts) at = await at.getDirectoryHandle(p, { create: true });
      const answer = await fetch(`/case/${rev}/${i}`);
      if (!answer.ok) throw new Error(path);
      await /** @type {any} */ (answer.body).pipeTo(await (await at.getFileHandle(file, { create: true })).createWritable());
    }
    tell(button.dataset.done, name);
  } catch (e) {
    tell(button.dataset.failed, /** @type {Error} */ (e).message);
  }
}
for (const b of document.querySelectorAll("button[data-save]")) {
  const button = /** @type {HTMLElement} */ (b);
  button.hidden = !("showDirectoryPicker" in window);
  button.addEventListener("click", () => saveFolder(button));
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

// The casts while their teeth are being found and while they are examined: those who want less motion see them closed.
/** @type {any} */
let moving = null;
let sights = 0;
const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
async function show(/** @type {any} */ state) {
  if (!id("moving") || !state.at && !state.sights) return;
  const first = !moving, news = (state.sights || 0) !== sights;
  sights = state.sights || 0;
  if (first) moving = import("/casts.js").then((m) => m.watch()).catch((e) => console.warn("3D view: " + e.message));
  const view = await moving;
  if (!first && news) await view?.reload();
  if (state.at && (first || !still)) view?.move(state.at);
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
  show(state);
  id("text").textContent = state.text;
  if (state.total) [bar.max, bar.value] = [state.total, state.done];
  else bar.removeAttribute("value");
};
