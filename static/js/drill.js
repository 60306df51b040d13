// The drill's running clock. The server says how many seconds have gone by, so a wrong clock on
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
