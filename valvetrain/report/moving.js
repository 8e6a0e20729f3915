"use strict";
(function () {
  // Printing: what is folded is opened for paper and closed again after; the formulas, most of the pages, only
  // where they are asked for or were open.
  var opened = [], formulas = false;
  window.addEventListener("beforeprint", function () {
    var folded = "details:not([open])" + (formulas ? "" : ":not(.formulas)");
    opened = Array.prototype.slice.call(document.querySelectorAll(folded));
    opened.forEach(function (each) { each.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (each) { each.open = false; });
    document.body.classList.remove("card-only");
    formulas = false;
  });
  Array.prototype.forEach.call(document.querySelectorAll("[data-print]"), function (button) {
    button.addEventListener("click", function () {
      document.body.classList.toggle("card-only", button.dataset.print === "card");
      formulas = button.dataset.print === "all";
      window.print();
    });
  });

  var source = document.getElementById("mv-data");
  if (!source) { return; }
  var data = JSON.parse(source.textContent);
  var crank = data.crank, count = crank.length;
  function get(id) { return document.getElementById(id); }
  var view = get("mv-view"), slider = get("mv-crank"), choice = get("mv-valve"), play = get("mv-play");
  var scene = get("mv-scene"), tip = get("mv-tip");
  var calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  var space = "http://www.w3.org/2000/svg";
  var valve = null, parts = {}, playing = false, started = 0, from = 0, at = 0;

  // Outlines are as narrow in the close-up as in the whole view: their width is a property of the view.
  var pen = "var(--pen)", bold = "calc(1.5 * var(--pen))";

  function make(name, attributes, parent) {
    var node = document.createElementNS(space, name);
    Object.keys(attributes).forEach(function (key) {
      if (key === "pen") { node.style.strokeWidth = attributes[key]; } else { node.setAttribute(key, attributes[key]); }
    });
    (parent || scene).appendChild(node);
    return node;
  }
  function line(parent, x1, y1, x2, y2, width, more) {
    return make("line", Object.assign({ x1: x1, y1: y1, x2: x2, y2: y2, stroke: "#000", "stroke-width": width,
      "stroke-linecap": "round" }, more || {}), parent);
  }

  // One arm of the rocker, wide at the hub.
  function arm(x, y, wide, narrow) {
    var s = valve.still, dx = x - s.shaft_x, dy = -y + s.shaft_y, long = Math.hypot(dx, dy);
    var across = -dy / long, down = dx / long, points = [[s.shaft_x, -s.shaft_y, wide], [x, -y, narrow],
      [x, -y, -narrow], [s.shaft_x, -s.shaft_y, -wide]].map(function (each) {
      return (each[0] + across * each[2]) + " " + (each[1] + down * each[2]);
    });
    make("path", { d: "M" + points.join("L") + "Z", fill: "#fff", stroke: "#000", pen: bold,
      "stroke-linejoin": "round" }, parts.rocker);
  }

  // The drawing's y points down, the data's up.
  function build() {
    var s = valve.still, size = valve.size;
    scene.textContent = "";
    get("mv-title").textContent = "Rocker, pushrod, tappet and valve of " + valve.name;
    var stem = size.stem_diameter / 2, flat = stem - (size.tip_chamfer || 0);
    // The stem's axis and the shaft stand still.
    line(scene, 0, -3 * stem, 0, 12 * stem, 0, { "stroke-dasharray": "4 1 0.6 1", stroke: "#555", pen: pen });
    parts.valve = make("g", { id: "mv-stem" });
    make("path", { d: "M" + -stem + " " + 12 * stem + "V" + (stem - flat) + "L" + -flat + " 0H" + flat + "L" + stem + " " +
      (stem - flat) + "V" + 12 * stem, fill: "#fff", stroke: "#000", pen: bold }, parts.valve);
    parts.rod = line(scene, 0, 0, 0, 0, size.pushrod_diameter || 6, { "stroke-linecap": "butt", stroke: "#000" });
    parts.hollow = line(scene, 0, 0, 0, 0, 0.86 * (size.pushrod_diameter || 6), { stroke: "#fff",
      "stroke-linecap": "butt" });
    parts.tappet = make("g", { id: "mv-tappet" });
    var wide = (size.face_diameter || 20) / 2, high = wide * 2.2;
    make("path", { d: "M" + -wide + " 0V" + high + "H" + wide + "V0", fill: "#fff", stroke: "#000",
      pen: bold, transform: "rotate(" + -valve.lean + ")" }, parts.tappet);
    make("circle", { r: 4, fill: "#fff", stroke: "#000", pen: pen }, parts.tappet);
    parts.rocker = make("g", { id: "mv-rocker" });
    var face = valve.face, r = face ? s.reach : size.pad_radius, hub = (size.shaft_diameter || 20) / 2;
    // The body is a picture only; arms, pad and balls are where the data says.
    arm(s.pad_x, s.pad_y, hub * 1.3, face ? 2 : Math.min(r * 0.55, hub));
    arm(s.socket_x, s.socket_y, hub * 1.3, 5.5);
    make("circle", { cx: s.socket_x, cy: -s.socket_y, r: 5.5, fill: "#fff", stroke: "#000", pen: bold },
      parts.rocker);
    make("circle", { cx: s.shaft_x, cy: -s.shaft_y, r: hub * 1.4, fill: "#fff", stroke: "#000", pen: bold },
      parts.rocker);
    line(parts.rocker, s.shaft_x, -s.shaft_y, s.pad_x, -s.pad_y, 0, { stroke: "#555",
      "stroke-dasharray": "3 1 0.6 1", pen: pen });
    line(parts.rocker, s.shaft_x, -s.shaft_y, s.socket_x, -s.socket_y, 0, { stroke: "#555",
      "stroke-dasharray": "3 1 0.6 1", pen: pen });
    if (face) {
      // A measured pad: its points as they are, no circle.
      parts.pad = make("path", { id: "mv-face", fill: "none", stroke: "#000", pen: "calc(3 * var(--pen))",
        d: "M" + face.map(function (each) { return each[0] + " " + -each[1]; }).join("L") }, parts.rocker);
    } else {
      parts.pad = make("circle", { id: "mv-pad", cx: s.pad_x, cy: -s.pad_y, r: r, fill: valve.roller ? "#fff" : "none",
        stroke: valve.roller ? "#000" : "#777", pen: pen, "stroke-dasharray": valve.roller ? "none" : "1.5 1" },
        parts.rocker);
      var open = 38 * Math.PI / 180;
      make("path", { d: "M" + (s.pad_x - r * Math.sin(open)) + " " + (-s.pad_y + r * Math.cos(open)) + "A" + r + " " + r +
        " 0 0 0 " + (s.pad_x + r * Math.sin(open)) + " " + (-s.pad_y + r * Math.cos(open)), fill: "none", stroke: "#000",
        pen: "calc(3 * var(--pen))" }, parts.rocker);
      make("circle", { cx: s.pad_x, cy: -s.pad_y, r: 0.6 }, parts.rocker);
    }
    make("circle", { cx: s.socket_x, cy: -s.socket_y, r: 4, fill: "#fff", stroke: "#000", pen: pen },
      parts.rocker);
    make("circle", { cx: s.shaft_x, cy: -s.shaft_y, r: hub, fill: "#ddd", stroke: "#000", pen: pen });
    line(scene, s.shaft_x - 2, -s.shaft_y, s.shaft_x + 2, -s.shaft_y, 0, { pen: pen });
    line(scene, s.shaft_x, -s.shaft_y - 2, s.shaft_x, -s.shaft_y + 2, 0, { pen: pen });
    parts.contact = make("path", { id: "mv-point", d: "M0 0l-1.4 3h2.8z", fill: "#000" });
    frame(wide, high);
  }

  // The first view takes in the whole train, the second the tip.
  function frame(wide, high) {
    var s = valve.still, size = valve.size, stem = size.stem_diameter, reach = s.reach || size.pad_radius;
    var left = Math.min(s.tappet_x - wide, s.socket_x - 8) - 3;
    var right = Math.max(s.pad_x + reach, stem) + 3;
    var top = Math.min(-s.shaft_y - (size.shaft_diameter || 20), -s.pad_y - reach, -s.socket_y - 8) - 3;
    var bottom = Math.max(-s.tappet_y + high, 6 * stem) + 3;
    view.setAttribute("viewBox", left + " " + top + " " + (right - left) + " " + (bottom - top));
    tip.setAttribute("viewBox", -1.1 * stem + " " + -0.9 * stem + " " + 2.2 * stem + " " + 3.3 * stem);
  }

  function between(list, place) {
    var low = Math.floor(place) % count, high = (low + 1) % count, share = place - Math.floor(place);
    return list[low] + share * (list[high] - list[low]);
  }
  function written(value, digits) {
    var text = value.toFixed(digits);
    return Number(text) === 0 ? text.replace("-", "") : text;
  }

  function show() {
    var place = at / (crank[1] - crank[0]), s = valve.still, read = valve.readings, unit = data.units;
    var lift = between(valve.valve_lift, place), turn = between(valve.turn, place);
    parts.valve.setAttribute("transform", "translate(0 " + lift + ")");
    // Opening turns the pad arm down: clockwise here, as the drawing's y points down.
    parts.rocker.setAttribute("transform", "rotate(" + turn + " " + s.shaft_x + " " + -s.shaft_y + ")");
    var x = between(valve.socket_path_x, place), y = -between(valve.socket_path_y, place);
    var lx = between(valve.tappet_path_x, place), ly = -between(valve.tappet_path_y, place);
    [parts.rod, parts.hollow].forEach(function (rod) {
      rod.setAttribute("x1", x); rod.setAttribute("y1", y); rod.setAttribute("x2", lx); rod.setAttribute("y2", ly);
    });
    parts.tappet.setAttribute("transform", "translate(" + lx + " " + ly + ")");
    var gap = between(read.gap, place), touching = gap === 0;
    parts.contact.setAttribute("transform", "translate(" + between(valve.contact_x, place) + " " + lift + ")");
    parts.contact.setAttribute("visibility", touching ? "visible" : "hidden");
    get("mv-angle").textContent = written(at, 0) + " deg";
    get("mv-lift").textContent = written(between(read.lift, place), data.digits.lift) + " " + unit.lift;
    get("mv-ratio").textContent = written(between(valve.ratio, place), 3);
    get("mv-load").textContent = read.load ? written(between(read.load, place), data.digits.load) + " " + unit.load :
      "not measured";
    get("mv-gap").textContent = touching ? "closed up" : written(gap, data.digits.lift) + " " + unit.lift;
    get("mv-contact").textContent = touching ? written(between(read.contact, place), data.digits.lift) + " " + unit.lift :
      "not touching";
    slider.setAttribute("aria-valuetext", written(at, 0) + " degrees, lift " + get("mv-lift").textContent);
  }

  function pick(name) {
    valve = data.valves.filter(function (each) { return each.name === name; })[0];
    var notes = [];
    if (!valve.timed) { notes.push("The lobe's center is not measured: its nose is drawn at 360 degrees."); }
    if (valve.face) { notes.push("The pad is drawn as its measured outline, " + valve.face.length + " points."); }
    if (data.missing.length) { notes.push("Not drawn, as not wholly measured: " + data.missing.join(", ") + "."); }
    get("mv-note").textContent = notes.join(" ");
    build();
    show();
  }

  function step(now) {
    if (!playing) { return; }
    // Two turns of the crank in eight seconds.
    at = (from + (now - started) * 0.09) % (count * (crank[1] - crank[0]));
    slider.value = String(2 * Math.floor(at / 2));
    show();
    window.requestAnimationFrame(step);
  }
  function toggle(on) {
    playing = on;
    play.setAttribute("aria-pressed", String(on));
    play.textContent = on ? "Pause" : "Play";
    if (on) {
      started = window.performance.now(); from = at;
      window.requestAnimationFrame(step);
    } else {
      // It stands where the slider says.
      at = Number(slider.value); show();
      get("mv-say").textContent = "Paused at " + slider.getAttribute("aria-valuetext");
    }
  }
  // Where less motion is asked for, Play goes on by one step of 10 degrees a press and nothing runs by itself.
  play.addEventListener("click", function () {
    if (calm.matches) {
      at = (Number(slider.value) + 10) % 720;
      slider.value = String(at);
      show();
      get("mv-say").textContent = slider.getAttribute("aria-valuetext");
    } else { toggle(!playing); }
  });
  function name() { play.textContent = calm.matches ? "Step 10 degrees" : playing ? "Pause" : "Play"; }
  calm.addEventListener("change", function () { if (playing) { toggle(false); } name(); });
  slider.addEventListener("input", function () {
    if (playing) { toggle(false); }
    at = Number(slider.value);
    show();
  });
  slider.addEventListener("keydown", function (event) {
    var jump = { PageUp: 20, PageDown: -20 }[event.key];
    if (!jump) { return; }
    event.preventDefault();
    slider.value = String(Math.max(0, Math.min(718, Number(slider.value) + jump)));
    slider.dispatchEvent(new Event("input"));
  });
  choice.addEventListener("change", function () { pick(choice.value); });
  data.valves.forEach(function (each) {
    var option = document.createElement("option");
    option.value = each.name;
    option.textContent = each.name + " (" + each.role + ")";
    choice.appendChild(option);
  });
  pick(data.valves[0].name);
  // Opened at full lift of the first valve, where there is something to see.
  at = crank[valve.valve_lift.indexOf(Math.max.apply(null, valve.valve_lift))];
  slider.value = String(at);
  name();
  show();
})();
