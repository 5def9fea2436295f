// One live line for all tabs of a browser. A browser opens six connections to a server and no more: with a line a tab,
// the seventh tab would wait for ever. So the tabs share one line in a shared worker; where there is none (some
// phones), each tab has its own and closes it while it is hidden.

const AGAIN_MS = 5000;

// Follow the changes; `tell` is called with {kind: "up" | "down" | "clock" | "changed", ...}.
export function listen(tell, since) {
  let source = null;
  let again = 0;
  let seen = since;

  function open() {
    source = new EventSource("/changes" + (seen === null ? "" : "?since=" + seen));
    source.onopen = () => tell({ kind: "up" });
    source.onerror = () => {
      tell({ kind: "down" });
      // The browser tries again by itself while it is connecting; an answer it cannot use closes the line for good.
      if (source !== null && source.readyState === EventSource.CLOSED) {
        close();
        again = setTimeout(open, AGAIN_MS);
      }
    };
    source.addEventListener("clock", (event) => tell({ kind: "clock", ...JSON.parse(event.data) }));
    source.addEventListener("changed", (event) => {
      seen = Number(event.lastEventId);
      tell({ kind: "changed", seq: seen, ...JSON.parse(event.data) });
    });
  }

  function close() {
    clearTimeout(again);
    if (source !== null) source.close();
    source = null;
  }

  open();
  return { close, seen: () => seen };
}

if (typeof SharedWorkerGlobalScope !== "undefined" && self instanceof SharedWorkerGlobalScope) {
  const tabs = new Map(); // port -> whether the tab is in view
  let line = null;

  const tell = (message) => {
    for (const [port, inView] of tabs) if (inView) port.postMessage(message);
  };
  const settle = () => {
    const wanted = [...tabs.values()].some(Boolean);
    if (!wanted && line !== null) {
      line.close();
      line = null;
    }
  };
  self.onconnect = (event) => {
    const port = event.ports[0];
    port.onmessage = ({ data }) => {
      if (data.kind === "bye") tabs.delete(port);
      else tabs.set(port, data.inView);
      if (data.inView && line === null) line = listen(tell, data.since);
      else if (data.inView && data.since < line.seen()) port.postMessage({ kind: "changed", everything: true, vessels: [] });
      settle();
    };
  };
}
