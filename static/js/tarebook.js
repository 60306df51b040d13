// "/" leads to the scan box, but from a field.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select, [contenteditable]");
  if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
  const box = document.getElementById("scan");
  if (!box) return;
  event.preventDefault();
  box.focus();
  box.select();
});

// Arrow keys move a table wider than its room.
const reach = () => {
  for (const room of document.querySelectorAll(".table-room")) {
    room.tabIndex = room.scrollWidth > room.clientWidth ? 0 : -1;
  }
};
reach();
window.addEventListener("resize", reach);
document.addEventListener("htmx:afterSettle", reach);

// A form is sent once; coming back frees it again.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || form.target || event.defaultPrevented) return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

// After a refusal the first wrong field has the focus, if nothing else has it.
if (!document.querySelector("[autofocus]")) document.querySelector("main form .is-invalid")?.focus();
