// A hand scanner ends with Enter: go on to the units, then to the next row, never send by it.
const lines = [...document.querySelectorAll("[data-line]")];
for (const [place, field] of lines.entries()) {
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    (lines[place + 1] ?? document.getElementById("send")).focus();
  });
}

// A lot touched on the shelf goes into the first empty row.
for (const button of document.querySelectorAll("[data-take]")) {
  button.hidden = false;
  button.addEventListener("click", () => {
    const place = lines.findIndex((field) => field.dataset.line === "lot" && !field.value);
    if (place < 0) return;
    lines[place].value = button.dataset.take;
    lines[place + 1].focus();
  });
}
