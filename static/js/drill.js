// A drill's running clock, and what was counted at the shelves of a drill or a recall.

// The clock. The server says how many seconds have gone by, so a wrong clock on
// this machine does no harm; the report takes its times from the server alone.
const two = (number) => String(number).padStart(2, "0");

for (const clock of document.querySelectorAll("[data-elapsed]")) {
  const before = Number(clock.dataset.elapsed);
  const show = () => {
    const seconds = before + Math.floor(performance.now() / 1000);
    clock.textContent = `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  };
  show();
  setInterval(show, 1000);
}

// Counts stay on this device while somebody looks something up on another page, until it is closed.
for (const form of document.querySelectorAll("form[data-kept]")) {
  const name = form.dataset.kept;
  const fields = [...form.querySelectorAll("input:not([type=hidden], [type=submit]), textarea")];
  const kept = JSON.parse(sessionStorage.getItem(name) ?? "{}");
  for (const field of fields) field.value ||= kept[field.name] ?? "";
  form.addEventListener("input", () => {
    const typed = fields.map((field) => [field.name, field.value]);
    sessionStorage.setItem(name, JSON.stringify(Object.fromEntries(typed)));
  });
}
for (const { dataset } of document.querySelectorAll("[data-forget]")) sessionStorage.removeItem(dataset.forget);
