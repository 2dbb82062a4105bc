// What plain forms cannot do: read scans as soon as both are there, show how far an
// examination is, and tell of changes that another tab made.
const body = document.body, id = (x) => document.getElementById(x);

const files = id("files");
files?.addEventListener("change", () => {
  if (files.files.length > 1 || /\.zip$/i.test(files.files[0]?.name ?? "")) files.form.requestSubmit();
});
// A file that is dropped beside the field does not take the place of the page.
for (const name of ["dragover", "drop"]) {
  addEventListener(name, (e) => {
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
addEventListener("load", () => setTimeout(() => document.querySelector("[autofocus]")?.focus()));
// A form goes once.
for (const form of document.forms) {
  let sent = false;
  form.addEventListener("submit", (e) => {
    if (sent) e.preventDefault();
    sent = true;
  });
}
addEventListener("pageshow", (e) => {
  if (e.persisted) location.reload();
});

let leaving = false;
addEventListener("pagehide", () => (leaving = true));
const events = new EventSource("/events");
events.onopen = () => (id("lost").hidden = true);
events.onerror = () => {
  if (!leaving) id("lost").hidden = false;
};
events.onmessage = (e) => {
  const state = JSON.parse(e.data);
  if (String(state.rev) !== body.dataset.rev) {
    if (body.dataset.stage === "working") location.replace("/");
    else id("changed").hidden = false;
    return;
  }
  const bar = id("bar");
  if (!bar) return;
  id("text").textContent = state.text;
  if (state.total) [bar.max, bar.value] = [state.total, state.done];
  else bar.removeAttribute("value");
};
