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
    put("speed", number(s.speed_kmh));
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
    put("elapsed", clock(s.elapsed_s || 0));
    put("file", s.file || "");
    put("latency", number(s.latency_ms) + " ms");
    put("rates", (s.rates || []).map((r) => r.channel + " " + r.hz.toFixed(1)).join(", "));
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
