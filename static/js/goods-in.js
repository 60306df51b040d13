// Rows of a form: another one without asking the server; the lists anew after a look at another
// tab; and how a quantity is read while it is being typed.
const form = document.querySelector("form[data-rows]");
const { rows, choices, reading } = form.dataset;
const total = form.elements[`${rows}-TOTAL_FORMS`];
const fresh = form.querySelector("template");
const button = form.elements.another;

button.hidden = false;
button.addEventListener("click", (event) => {
  event.preventDefault();
  const index = total.value;
  const holder = document.createElement("div");
  holder.innerHTML = fresh.innerHTML.replaceAll("__prefix__", index);
  for (const number of holder.querySelectorAll("[data-number]")) number.textContent = Number(index) + 1;
  const row = [...holder.children];
  fresh.before(...row);
  total.value = Number(index) + 1;
  row[0].querySelector("select, input:not([type=hidden])").focus();
});

const named = (select) => select.name.split("-").pop();

function offer(select, groups) {
  const known = new Set([...select.options].map((option) => option.value));
  for (const [group, options] of groups) {
    for (const [value, word] of options) {
      if (known.has(value)) continue;
      let place = [...select.querySelectorAll("optgroup")].find((each) => each.label === group);
      if (!place && group) {
        place = document.createElement("optgroup");
        place.label = group;
        select.append(place);
      }
      (place ?? select).append(new Option(word, value));
    }
  }
}

async function takeListsAnew() {
  const answer = await fetch(choices);
  if (!answer.ok) return;
  const lists = await answer.json();
  const selects = [...form.querySelectorAll("select"), ...fresh.content.querySelectorAll("select")];
  for (const select of selects) offer(select, lists[named(select)] ?? []);
}

async function readQuantity(field) {
  const row = field.closest("fieldset");
  const said = row?.querySelector("[data-said]");
  if (!said) return;
  const item = row.querySelector("select[name$='-item']").value;
  const quantity = row.querySelector("input[name$='-quantity_as_written']").value;
  const answer = await fetch(`${reading}?${new URLSearchParams({ item, quantity })}`);
  if (!answer.ok) return;
  const heard = await answer.json();
  said.textContent = heard.said;
  said.classList.toggle("stop", !heard.understood);
}

if (choices) {
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) takeListsAnew().catch(() => {});
  });
}
if (reading) {
  form.addEventListener("change", (event) => {
    if (/-(item|quantity_as_written)$/.test(event.target.name)) readQuantity(event.target).catch(() => {});
  });
}
