// The wait for the cap. It counts down from the seconds that the bench gave, by a
// clock that nobody can set; where that clock stops (a device asleep) the wait is
// shown too long, never too short.

const since = new WeakMap(); // when each countdown came in
let waiting = false; // the wait was seen to run

// ring tells who is not looking: a phone shakes, and there are three tones where the
// browser allows a sound, which is after the page was touched.
function ring() {
  navigator.vibrate?.([400, 200, 400]);
  try {
    const sound = new AudioContext();
    for (const at of [0, 0.5, 1]) {
      const tone = sound.createOscillator(), loud = sound.createGain();
      tone.frequency.value = 880; loud.gain.value = 0.2;
      tone.connect(loud).connect(sound.destination);
      tone.start(sound.currentTime + at); tone.stop(sound.currentTime + at + 0.25);
    }
    setTimeout(() => sound.close(), 2000);
  } catch { /* this device makes no sound */ }
}

// leftOf is how many seconds are left of a wait that came in with the page.
function leftOf(wait) {
  if (!since.has(wait)) since.set(wait, performance.now());
  return Math.ceil(Number(wait.dataset.left) - (performance.now() - since.get(wait)) / 1000);
}

function count() {
  for (const pieces of document.querySelectorAll(".cap-left")) { // at the cap of the drawing
    const left = leftOf(pieces), says = left > 90 ? `shut ${Math.ceil(left / 60)} min` : left > 0 ? `shut ${left} s` : "feel hose";
    pie(pieces.querySelector("path"), Math.max(0, left) / Math.max(1, Number(pieces.dataset.of)));
    const text = pieces.parentNode.querySelector(".cap-says");
    if (text && text.textContent !== says) text.textContent = says;
  }
  for (const wait of document.querySelectorAll(".cap-wait")) {
    const left = leftOf(wait);
    const says = left > 90 ? `cap: leave it shut: ${Math.ceil(left / 60)} min` : left > 0 ? `cap: leave it shut: ${left} s` : "cap: safe to open by the clock";
    pie(wait.querySelector(".pie path"), Math.max(0, left) / Math.max(1, Number(wait.dataset.of)));
    const line = wait.querySelector(".count");
    if (line.textContent !== says) line.textContent = says;
    wait.classList.toggle("over", left <= 0);
    if (waiting && left <= 0) { ring(); document.dispatchEvent(new Event("cap-over")); }
    waiting = left > 0;
  }
}
// pie draws what part of the wait is left. An arc that ends where it begins is not drawn.
function pie(path, part) {
  const a = 2 * Math.PI * Math.min(0.99, part), x = 20 + 17 * Math.sin(a), y = 20 - 17 * Math.cos(a);
  path?.setAttribute("d", part <= 0 ? "" : `M20 20V3A17 17 0 ${a > Math.PI ? 1 : 0} 1 ${x.toFixed(1)} ${y.toFixed(1)}Z`);
}

setInterval(count, 1000);
count();
export { count };
