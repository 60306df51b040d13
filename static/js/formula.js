// Adds up the shares while they are typed; the server adds them up again when they are sent.
const total = document.getElementById("shares-total");
const shares = () => document.querySelectorAll('input[name^="lines-"][name$="-share"]');

// In ten-thousandths of a percent, so that the sum is exact.
const read = (text) => {
  const match = /^(\d{1,3})(?:[.,](\d{0,4}))?$/.exec(text.replace(/[\s\u2009\u202f]/g, ""));
  return match ? Number(match[1]) * 10000 + Number((match[2] ?? "").padEnd(4, "0")) : 0;
};

const show = (parts) =>
  `${Math.floor(parts / 10000)}.${String(parts % 10000).padStart(4, "0")} %`;

const isRemoved = (share) =>
  document.querySelector(`[name="${share.name.replace(/share$/, "DELETE")}"]`)?.checked ?? false;

const say = () => {
  let sum = 0;
  for (const share of shares()) if (!isRemoved(share)) sum += read(share.value);
  if (sum === 1000000) total.textContent = "The shares add up to exactly 100 %.";
  else if (sum < 1000000)
    total.textContent = `The shares add up to ${show(sum)}; ${show(1000000 - sum)} is missing.`;
  else
    total.textContent = `The shares add up to ${show(sum)}; that is ${show(sum - 1000000)} too much.`;
};

total?.closest("form").addEventListener("input", say);
