/* Draw the charts of a page, each when its fold is first opened.

   <details data-chart="ID OF THE JSON" data-plotly="ADDRESS OF THE LIBRARY"> holds an element with
   class "chart". Colours come from the stylesheet's tokens, and follow light and dark. */
"use strict";

(() => {
  let library;

  function loadLibrary(address) {
    library ??= new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = address;
      script.onload = resolve;
      script.onerror = () => { library = undefined; reject(new Error("The chart library did not load.")); };
      document.head.append(script);
    });
    return library;
  }

  function token(name) {
    return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  }

  function withAlpha(hex, alpha) {
    const [red, green, blue] = [1, 3, 5].map((start) => parseInt(hex.slice(start, start + 2), 16));
    return `rgba(${red}, ${green}, ${blue}, ${alpha})`;
  }

  function coloured(figure) {
    const copy = structuredClone(figure);
    const ink = token("--ink");
    const soft = token("--ink-soft");
    const accent = token("--accent");
    for (const trace of copy.data) {
      trace.line = { ...trace.line, color: accent };
      if (trace.marker) { trace.marker = { ...trace.marker, color: accent }; }
      if (trace.meta?.part === "band") { trace.fillcolor = withAlpha(accent, 0.2); }
    }
    for (const shape of copy.layout.shapes ?? []) { shape.line = { ...shape.line, color: soft }; }
    for (const note of copy.layout.annotations ?? []) { note.font = { color: soft, size: 13 }; }
    const axis = { color: ink, gridcolor: token("--rule"), linecolor: soft };
    copy.layout.xaxis = { ...copy.layout.xaxis, ...axis };
    copy.layout.yaxis = { ...copy.layout.yaxis, ...axis };
    copy.layout.paper_bgcolor = "rgba(0, 0, 0, 0)";
    copy.layout.plot_bgcolor = "rgba(0, 0, 0, 0)";
    copy.layout.font = { color: ink, family: getComputedStyle(document.body).fontFamily, size: 14 };
    copy.layout.hoverlabel = { bgcolor: token("--sheet"), bordercolor: soft, font: { color: ink } };
    return copy;
  }

  async function draw(fold) {
    const place = fold.querySelector(".chart");
    try {
      await loadLibrary(fold.dataset.plotly);
      const figure = coloured(JSON.parse(document.getElementById(fold.dataset.chart).textContent));
      await window.Plotly.react(place, figure.data, figure.layout, { displayModeBar: false, responsive: true });
      fold.dataset.drawn = "yes";
    } catch (error) {
      place.textContent = fold.dataset.failed
        ?? "The chart could not be drawn. The sentence above says what it shows.";
      console.error(error);
    }
  }

  const folds = document.querySelectorAll("details[data-chart]");
  for (const fold of folds) {
    fold.addEventListener("toggle", () => {
      if (fold.open && !fold.dataset.drawn) { draw(fold); }
    });
    if (fold.open) { draw(fold); }
  }
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    for (const fold of folds) { if (fold.dataset.drawn) { draw(fold); } }
  });
})();
