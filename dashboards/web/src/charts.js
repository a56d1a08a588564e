// Turns each figure that carries its data into zoomable panels: drag to zoom, double click or the button to see all,
// wheel to zoom at the pointer, shift and drag to move. The still picture stays for print and for browsers without scripts.
(function () {
  "use strict";
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const shade = (pair) => pair[dark.matches ? 1 : 0];
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  const clock = (s) => (s < -0.5 ? "\u2212" : "") + Math.floor(Math.round(Math.abs(s)) / 60) + ":" + String(Math.round(Math.abs(s)) % 60).padStart(2, "0");

  const ratio = () => window.devicePixelRatio || 1;
  const type = (px) => px * ratio() + "px " + getComputedStyle(document.body).fontFamily;

  const plain = (v) => (v == null ? "" : String(+v.toFixed(6)).replace("-", "\u2212"));

  // unpack turns steps back into values: x is written as differences of thousandths.
  function unpack(steps) {
    let sum = 0;
    return steps.map((d) => (sum += d) / 1000);
  }

  function shape(series, panel) {
    const dots = series.dots;
    return {
      stroke: () => shade(series.ink),
      width: series.width,
      dash: series.dash || undefined,
      paths: dots ? () => null : undefined,
      points: dots ? { show: true, size: 5, fill: () => (series.hollow ? css("paper") : shade(series.ink)) } : { show: false },
    };
  }

  function blocks(u, panel) {
    const g = u.ctx;
    g.save();
    g.beginPath();
    g.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height);
    g.clip();
    for (const b of panel.blocks || []) {
      const x0 = u.valToPos(b.from, "x", true), x1 = u.valToPos(b.to, "x", true);
      const y1 = b.whole ? u.bbox.top : u.valToPos(b.high, "y", true);
      const y0 = b.whole ? u.bbox.top + u.bbox.height : u.valToPos(b.low, "y", true);
      g.fillStyle = shade(b.fill);
      g.fillRect(x0, y1, Math.max(1, x1 - x0), y0 - y1);
      g.font = type(12);
      if (b.label && g.measureText(b.label).width + 6 < x1 - x0) {
        g.fillStyle = css("text");
        g.textAlign = "center";
        g.textBaseline = b.whole ? "top" : "middle";
        g.fillText(b.label, (x0 + x1) / 2, b.whole ? y1 + 3 : (y0 + y1) / 2);
      }
    }
    g.restore();
  }

  function rules(u, panel) {
    const g = u.ctx;
    g.save();
    const box = u.bbox, right = box.left + box.width;
    g.font = type(12);
    const labels = [];
    for (const r of panel.rules || []) {
      const at = u.valToPos(r.at, r.vertical ? "x" : "y", true);
      const [low, high] = r.vertical ? [box.left, right] : [box.top, box.top + box.height];
      if (at < low || at > high) continue;
      g.strokeStyle = g.fillStyle = shade(r.ink);
      g.setLineDash((r.dash || []).map((d) => d * ratio()));
      g.beginPath();
      g.moveTo(r.vertical ? at : box.left, r.vertical ? box.top : at);
      g.lineTo(r.vertical ? at : right, r.vertical ? box.top + box.height : at);
      g.stroke();
      const label = r.label || "", fits = at + g.measureText(label).width + 8 < right;
      g.textAlign = r.vertical && fits ? "left" : "right";
      g.textBaseline = r.vertical ? "top" : "bottom";
      if (r.vertical) {
        const wide = g.measureText(label).width, x = fits ? at + 4 : at - 4 - wide;
        const row = labels.filter((o) => x < o[1] && x + wide > o[0]).length; // below those in its way
        labels.push([x, x + wide]);
        g.fillText(label, at + (fits ? 4 : -4), box.top + 2 + 13 * ratio() * row);
      } else g.fillText(label, right, at - 2);
    }
    g.restore();
  }

  function wheel(u, together) {
    u.over.addEventListener("wheel", (e) => {
      e.preventDefault();
      const at = u.posToVal(e.offsetX, "x"), k = e.deltaY > 0 ? 1.25 : 0.8;
      together(at - (at - u.scales.x.min) * k, at + (u.scales.x.max - at) * k);
    }, { passive: false });
    u.over.addEventListener("mousedown", (e) => {
      if (!e.shiftKey) return;
      e.preventDefault();
      e.stopImmediatePropagation();
      const from = e.clientX, min = u.scales.x.min, max = u.scales.x.max;
      const move = (m) => {
        const d = ((from - m.clientX) / u.over.clientWidth) * (max - min);
        together(min + d, max + d);
      };
      const up = () => { removeEventListener("mousemove", move); removeEventListener("mouseup", up); };
      addEventListener("mousemove", move);
      addEventListener("mouseup", up);
    }, true);
  }

  // reading is what stands under the cursor, of all panels of a figure.
  function reading(chart, plots, u) {
    const i = u.cursor.idx;
    if (i == null || u.data[0][i] == null) return "";
    const x = u.data[0][i], parts = [chart.x + " " + (chart.clock ? clock(x) : plain(+x.toPrecision(4)))];
    plots.forEach((p, n) => chart.panels[n].series.forEach((s, k) => {
      const v = p.cursor.idx == null ? null : p.data[k + 1][p.cursor.idx];
      if (v != null && s.width !== 0) parts.push((s.name || chart.panels[n].y) + " " + plain(+v.toPrecision(4)));
    }));
    return parts.join(" \u00b7 ");
  }

  function panelOf(chart, panel, host, width, key, together, range, read) {
    const tables = panel.series.map((s) => [unpack(s.x), s.y]);
    const data = tables.length ? uPlot.join(tables) : [chart.range];
    const series = [{}];
    for (const s of panel.series) series.push(shape(s, panel));
    // One width for all panels, so that they stand exactly below each other.
    const gutter = chart.panels.some((p) => p.ticks) ? 72 : 52;
    const axis = { stroke: () => css("quiet"), grid: { stroke: () => css("grid"), width: 1 }, ticks: { stroke: () => css("grid"), width: 1 }, font: "12px " + getComputedStyle(document.body).fontFamily };
    const names = new Map((panel.ticks || []).map((t) => [t.at, t.label]));
    const u = new uPlot({
      title: panel.y, width, height: panel.height,
      legend: { show: false },
      cursor: { sync: { key, scales: ["x", null] }, drag: { x: true, y: false }, focus: { prox: 30 } },
      scales: { x: { time: false, range: (u, a, b) => range(a, b) }, y: { range: panel.range } },
      series,
      bands: (panel.bands || []).map((b) => ({ series: [b.high + 1, b.low + 1], fill: () => shade(b.fill) })),
      axes: [
        Object.assign({}, axis, { values: (u, vs) => vs.map(chart.clock ? clock : plain), incrs: chart.clock ? [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600] : undefined, size: 34 }),
        Object.assign({}, axis, names.size
          ? { splits: () => [...names.keys()], values: (u, vs) => vs.map((v) => names.get(v)), size: gutter, grid: { show: false } }
          : { values: (u, vs) => vs.map(plain), size: gutter }),
      ],
      hooks: {
        drawClear: [(u) => blocks(u, panel)],
        draw: [(u) => rules(u, panel)],
        setCursor: [read],
        setScale: [(u, k) => { if (k === "x") together(u.scales.x.min, u.scales.x.max); }],
      },
    }, data, host);
    wheel(u, together);
    return u;
  }

  function build(figure, chart, index) {
    const host = document.createElement("div");
    host.className = "live";
    figure.insertBefore(host, figure.querySelector(".still").nextSibling);
    figure.classList.add("zoomable");
    const bar = document.createElement("div");
    bar.className = "zoom";
    host.append(bar);
    const plots = [];
    let busy = false;
    const whole = chart.range;
    const limit = (a, b) => (b > a ? [Math.max(whole[0], a), Math.min(whole[1], b)] : whole);
    const together = (min, max) => {
      if (busy || min == null) return;
      [min, max] = limit(min, max);
      busy = true;
      for (const u of plots) if (u.scales.x.min !== min || u.scales.x.max !== max) u.setScale("x", { min, max });
      busy = false;
      figure.dataset.from = min;
      figure.dataset.to = max;
    };
    const zoom = (k) => {
      const x = plots[0].scales.x, mid = (x.min + x.max) / 2, half = ((x.max - x.min) / 2) * k;
      together(mid - half, mid + half);
    };
    for (const [label, run] of [["Closer", () => zoom(0.5)], ["Wider", () => zoom(2)], ["Whole", () => together(whole[0], whole[1])]]) {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = label;
      b.addEventListener("click", run);
      bar.append(b);
    }
    const hint = document.createElement("span");
    hint.textContent = "drag to zoom, double click for the whole, shift and drag to move";
    bar.append(hint);
    const readout = document.createElement("p");
    readout.className = "readout";
    const read = (u) => { readout.textContent = reading(chart, plots, u); };
    const width = () => Math.max(280, host.clientWidth);
    for (const p of chart.panels) plots.push(panelOf(chart, p, host, width(), "figure-" + index, together, limit, read));
    host.append(readout);
    new ResizeObserver(() => plots.forEach((u) => { if (u.width !== width()) u.setSize({ width: width(), height: u.height }); })).observe(host);
    dark.addEventListener("change", () => plots.forEach((u) => u.redraw(false, true)));
    together(whole[0], whole[1]);
    figure.plots = plots;
  }

  const start = () => document.querySelectorAll("figure > script[type='application/json']").forEach((s, i) => build(s.parentNode, JSON.parse(s.textContent), i));
  if (document.readyState === "loading") addEventListener("DOMContentLoaded", start);
  else start();
})();
