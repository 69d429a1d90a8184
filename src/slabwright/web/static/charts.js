// The chart library, from its own package, loaded when a page wants it and not before it was painted.
// The pages allow no styles but those of their own files, so its rules go into one of these.

let loading;

/** A file of the pages that its few rules can be put into. */
function ownStyles() {
  return new Promise((resolve) => {
    const styles = document.createElement("link");
    styles.id = "plotly.js-style-global";
    styles.rel = "stylesheet";
    styles.href = "/static/charts.css";
    styles.onload = resolve;
    styles.onerror = resolve;
    document.head.append(styles);
  });
}

function library(address) {
  return new Promise((resolve, reject) => {
    const head = document.head;
    // One of its parts, for maps of the world, puts a style sheet into the head as it loads; no page draws such maps.
    head.appendChild = (node) => (node instanceof HTMLStyleElement ? node : Element.prototype.appendChild.call(head, node));
    const script = document.createElement("script");
    script.src = address;
    script.onload = () => { delete head.appendChild; resolve(window.Plotly); };
    script.onerror = () => { delete head.appendChild; loading = undefined; reject(new TypeError("the link is down")); };
    head.append(script);
  });
}

/** The library, once it is loaded. */
export function charts(address) {
  loading ??= ownStyles().then(() => library(address));
  return loading;
}

/** Do something when a part of the page comes near to being seen, after the page was painted. */
export function whenNear(part, deed) {
  const watcher = new IntersectionObserver((seen) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    watcher.disconnect();
    requestAnimationFrame(() => setTimeout(deed));
  }, { rootMargin: "300px" });
  watcher.observe(part);
}

/** A colour of the page, which follows light and dark. */
export function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
}

export const QUIET = { displayModeBar: false, responsive: true, showTips: false };
