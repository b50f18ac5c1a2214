// What the bench tells as it happens. The browser takes a line up again that was cut;
// one that the bench refused, because it was just away, it gives up. So it is asked
// for again here.

const AGAIN = 2000; // ms, judgement

export function stream(url, on, lost = () => {}) {
  const source = new EventSource(url);
  for (const [name, act] of Object.entries(on)) source.addEventListener(name, act);
  source.onerror = () => {
    lost();
    if (source.readyState === EventSource.CLOSED) setTimeout(() => stream(url, on, lost), AGAIN);
  };
}
