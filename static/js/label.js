// The picture beside a draft follows what is typed; nothing is kept until the form is sent.
const form = document.getElementById("draft-form");
const seen = document.getElementById("seen");
const address = form?.closest("[data-preview]").dataset.preview;
let waiting;
let latest = 0;

const look = async () => {
  const turn = ++latest;
  try {
    const answer = await fetch(address, { method: "POST", body: new FormData(form) });
    const page = await answer.text();
    // An answer that was overtaken by further typing is dropped.
    if (answer.ok && turn === latest) seen.innerHTML = page;
  } catch {
    // Without a network the last picture stays.
  }
};

form?.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(look, 400);
});
