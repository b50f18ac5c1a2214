// The wait for the cap. It counts down from the seconds that the bench gave, by a
// clock that nobody can set; where that clock stops (a device asleep) the wait is
// shown too long, never too short.

const since = new WeakMap(); // when each countdown came in

function count() {
  for (const wait of document.querySelectorAll("[data-left]")) {
    if (!since.has(wait)) since.set(wait, performance.now());
    const left = Math.ceil(Number(wait.dataset.left) - (performance.now() - since.get(wait)) / 1000);
    const says = left > 90 ? `Leave the cap alone: ${Math.ceil(left / 60)} min` : left > 0 ? `Leave the cap alone: ${left} s` : "By the clock the cap is safe to open";
    const line = wait.querySelector(".count");
    if (line.textContent !== says) line.textContent = says;
    wait.classList.toggle("over", left <= 0);
  }
}
setInterval(count, 1000);
count();
export { count };
