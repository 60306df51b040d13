// Rows of a form: another one without asking the server.
const form = document.querySelector("form[data-rows]");
const { rows } = form.dataset;
const total = form.elements[`${rows}-TOTAL_FORMS`];
const fresh = form.querySelector("template");
const button = form.elements.another;

button.hidden = false;
button.addEventListener("click", (event) => {
  event.preventDefault();
  const index = total.value;
  const holder = document.createElement("template");
  holder.innerHTML = fresh.innerHTML.replaceAll("__prefix__", index);
  for (const number of holder.content.querySelectorAll("[data-number]")) {
    number.textContent = Number(index) + 1;
  }
  const row = [...holder.content.children];
  fresh.before(...row);
  total.value = Number(index) + 1;
  row[0].querySelector("select, input:not([type=hidden])").focus();
});
