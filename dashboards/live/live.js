(function () {
  "use strict";
  const at = (id) => document.getElementById(id);
  const put = (id, text) => { if (at(id).textContent !== text) at(id).textContent = text; };
  const number = (v) => (v == null ? "\u2013" : Math.round(v).toString());
  const two = (n) => String(n).padStart(2, "0");
  const clock = (s) => Math.floor(s / 3600) + ":" + two(Math.floor(s / 60) % 60) + ":" + two(Math.floor(s) % 60);

  function connection(text, up) {
    put("connection", text);
    at("link").className = "link " + (up ? "up" : "down");
  }

  function show(s) {
    connection(s.connection, s.connected);
    put("rpm", number(s.engine_rpm));
    put("speed", number(s.speed));
    put("speed-unit", s.speed_unit || "km/h");
    put("gear", s.gear ? String(s.gear) : "\u2013");
    put("clutch", (s.clutch || "\u2013") + (s.slip_pct == null ? "" : " " + number(s.slip_pct) + " %"));
    at("clutch").className = s.clutch || "";
    at("alert").hidden = !s.alert;
    put("alert", s.alert || "");
    at("guide").hidden = !s.step;
    if (s.step) {
      put("count", s.step.number + " of " + s.step.of);
      put("step", s.step.title);
      put("how", s.step.text);
    }
    runs(s.runs || []);
    needs(s.needs || []);
    at("usable").hidden = !s.usable;
    put("usable", "usable so far: " + (s.usable || ""));
    at("curve").hidden = !s.curve;
    at("learning").hidden = s.learnt;
    if (s.curve) draw(s.curve);
    at("gpsrow").hidden = !s.gps;
    put("gps", s.gps || "");
    put("elapsed", clock(s.elapsed_s || 0));
    put("file", s.file || "");
    put("latency", number(s.latency_ms) + " ms");
    put("rates", (s.rates || []).map((r) => r.channel + " " + r.hz.toFixed(1)).join(", "));
  }

  // The curve. x is seconds before now, y is rpm; the strip at the bottom holds the gears.
  const left = 36, right = 354, top = 8, bottom = 150, strip = 172;
  const shape = (name, attributes, text) => {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    if (text !== undefined) e.textContent = text;
    return e;
  };

  function draw(c) {
    const most = Math.max(3000, ...(c.engine || []).map((p) => p[1]), ...(c.locked || []).map((p) => p[1]));
    const ceiling = Math.ceil(most / 1000) * 1000, tick = ceiling > 5000 ? 2000 : 1000;
    const x = (t) => right + (right - left) * Math.min(t, 0) / c.length_s;
    const y = (v) => bottom - (bottom - top) * v / ceiling;
    const parts = [];
    for (let v = 0; v <= ceiling; v += tick) {
      parts.push(shape("line", { class: "rule", x1: left, x2: right, y1: y(v), y2: y(v) }));
      parts.push(shape("text", { x: left - 4, y: y(v) + 4, "text-anchor": "end" }, String(v)));
    }
    for (const [t, word] of [[-c.length_s, "\u2212" + c.length_s + " s"], [-c.length_s / 2, "\u2212" + c.length_s / 2 + " s"], [0, "now"]]) {
      parts.push(shape("text", { x: x(t), y: strip + 14, "text-anchor": t === 0 ? "end" : t === -c.length_s ? "start" : "middle" }, word));
    }
    for (const s of c.slips || []) {
      parts.push(shape("rect", { class: "slip", x: x(s.from), y: top, width: Math.max(x(s.to) - x(s.from), 3), height: bottom - top }));
      parts.push(shape("text", { class: "sliptext", x: (x(s.from) + x(s.to)) / 2, y: top + 14, "text-anchor": "middle" }, Math.round(s.value) + " %"));
    }
    for (const g of c.gears || []) {
      const wide = x(g.to) - x(g.from);
      parts.push(shape("rect", { class: "gear", x: x(g.from), y: bottom + 4, width: Math.max(wide, 1), height: strip - bottom - 6 }));
      if (wide > 10) parts.push(shape("text", { class: "geartext", x: x(g.from) + wide / 2, y: strip - 6, "text-anchor": "middle" }, String(g.value)));
    }
    parts.push(shape("path", { class: "locked", d: line(c.locked, x, y, 1.2) }), shape("path", { class: "engine", d: line(c.engine, x, y, 3) }));
    at("plot").replaceChildren(...parts);
  }

  // A line through the points; where none came for so many seconds it is broken.
  function line(points, x, y, gap) {
    let d = "", last = -Infinity;
    for (const [t, v] of points || []) {
      d += (t - last > gap ? "M" : "L") + x(t).toFixed(1) + " " + y(v).toFixed(1);
      last = t;
    }
    return d;
  }

  function needs(list) {
    at("needs").replaceChildren(...list.map((n) => {
      const item = document.createElement("li"), count = document.createElement("b");
      count.textContent = n.have + " of " + n.want;
      item.append(n.what + " ", count);
      return item;
    }));
  }

  let shown = "";
  function runs(list) {
    const key = JSON.stringify(list);
    if (key === shown) return;
    shown = key;
    at("none").hidden = list.length > 0;
    at("runs").replaceChildren(...list.map((r) => {
      const item = document.createElement("li"), word = document.createElement("b");
      item.className = r.accepted ? "good" : "open";
      word.textContent = r.accepted ? "\u2713 counts" : "\u2717 refused";
      item.append(word, " " + r.what + (r.why ? ": " + r.why : ""));
      return item;
    }));
  }

  // The browser reconnects by itself, except where it was turned away; then we do.
  function follow() {
    const source = new EventSource("events");
    source.onmessage = (e) => show(JSON.parse(e.data));
    source.addEventListener("end", () => { source.close(); connection("The recording has ended.", false); });
    source.onerror = () => {
      connection("No word from the recorder; trying again.", false);
      for (const id of ["rpm", "speed", "gear", "clutch"]) put(id, "\u2013");
      at("clutch").className = "";
      if (source.readyState === EventSource.CLOSED) setTimeout(follow, 2000);
    };
  }
  follow();
})();
