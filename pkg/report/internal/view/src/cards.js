// The card of a tooth: what the page says of it, shown where the reader is. It is
// moved into a dialog and back, so that nothing stands twice.

let home = null; // where the card in the dialog belongs

// showTooth opens the card of a tooth by its ISO 3950 code.
export function showTooth(code) {
  const dialog = document.getElementById("tooth-dialog");
  const card = document.getElementById("tooth-" + code);
  if (!dialog || !card) return false;
  putBack();
  home = document.createComment("card");
  card.replaceWith(home);
  document.getElementById("tooth-dialog-body").append(card);
  if (!dialog.open) dialog.showModal();
  return true;
}

function putBack() {
  if (!home) return;
  home.replaceWith(document.getElementById("tooth-dialog-body").firstElementChild);
  home = null;
}

// followTeeth opens cards instead of going to them, and closes them where a link leads
// into the view.
export function followTeeth() {
  const dialog = document.getElementById("tooth-dialog");
  if (!dialog || !dialog.showModal) return;
  dialog.addEventListener("close", putBack);
  dialog.addEventListener("click", (e) => {
    if (e.target === dialog || e.target.closest("a.go")) dialog.close();
  });
  document.addEventListener("click", (e) => {
    const a = e.target.closest("a.tooth");
    if (!a || e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
    if (showTooth(a.getAttribute("href").replace("#tooth-", ""))) e.preventDefault();
  });
}
