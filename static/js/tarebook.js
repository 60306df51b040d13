// The scan box takes the focus at "/" from anywhere but a field.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select, [contenteditable]");
  if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
  const box = document.getElementById("scan");
  if (!box) return;
  event.preventDefault();
  box.focus();
  box.select();
});

// A table wider than its room is moved by the arrow keys too.
const widenReach = () => {
  for (const room of document.querySelectorAll(".table-room")) {
    room.tabIndex = room.scrollWidth > room.clientWidth ? 0 : -1;
  }
};
widenReach();
window.addEventListener("resize", widenReach);
document.addEventListener("htmx:afterSettle", widenReach);

// A form that is on its way is not sent twice; coming back to the page frees it again.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

// After a refusal the first wrong field has the focus, if nothing else was given it.
if (!document.querySelector("[autofocus]")) document.querySelector("main form .is-invalid")?.focus();
