// Sends what is tried as soon as a field is left or Enter is pressed, and puts the answer in place.
const bench = document.getElementById("bench");
const said = document.getElementById("bench-said");
const STEP = 0.1;
let asked;
let waiting;

// What is typed meanwhile stays typed, and the cursor where it was.
const put = (html) => {
  const { id, value, defaultValue, selectionStart, selectionEnd } = document.activeElement ?? {};
  bench.innerHTML = html;
  const field = id && document.getElementById(id);
  if (field && bench.contains(field)) {
    if (field.matches('input[type="text"]') && value !== defaultValue) field.value = value;
    field.focus();
    if (field.setSelectionRange && selectionStart !== null && field.type === "text")
      field.setSelectionRange(selectionStart, selectionEnd);
  }
  said.textContent = bench.querySelector("[data-said]")?.dataset.said ?? "";
};

const ask = async (form) => {
  asked?.abort();
  asked = new AbortController();
  bench.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(location.href, {
      method: "POST",
      body: new FormData(form),
      headers: { "X-Bench": "part" },
      signal: asked.signal,
    });
    if (!answer.ok || answer.redirected) HTMLFormElement.prototype.submit.call(form);
    else put(await answer.text());
  } catch (error) {
    if (error.name !== "AbortError") HTMLFormElement.prototype.submit.call(form);
    else return;
  }
  bench.removeAttribute("aria-busy");
};

bench.addEventListener("change", (event) => event.target.form && ask(event.target.form));
bench.addEventListener("submit", (event) => {
  if (event.submitter?.name === "keep") return;
  event.preventDefault();
  ask(event.target);
});

// The arrow keys move a share by a tenth of a percent.
bench.addEventListener("keydown", (event) => {
  const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  const field = event.target;
  if (!way || !field.name?.endsWith("-share")) return;
  const share = Number(field.value.replace(",", "."));
  if (!Number.isFinite(share)) return;
  event.preventDefault();
  field.value = String(Math.min(100, Math.max(0, Math.round((share + way * STEP) * 1e4) / 1e4)));
  clearTimeout(waiting);
  waiting = setTimeout(() => ask(field.form), 250);
});
