"use strict";
(function () {
  // The page holds nothing of its own: it shows what the server read from the files, and sends what is typed.
  var base = "/sheet/" + encodeURIComponent(document.body.dataset.name) + "/";
  var told = null, what = null, spot = 0, readings = [], tried = {}, busy = false, seen = "";
  var words = { ok: "ok", out: "OUT", unsure: "unsure", unmeasured: "not measured", "": "-" };
  var waiting = null;

  function get(id) { return document.getElementById(id); }
  // Every text of the sheet goes in as text, never as markup.
  function make(name, more, inside) {
    var node = document.createElement(name);
    Object.keys(more || {}).forEach(function (key) {
      if (key === "text") { node.textContent = more[key]; } else if (key === "on") { node.addEventListener("click", more[key]); } else { node.setAttribute(key, more[key]); }
    });
    (inside || []).forEach(function (each) { node.append(each); });
    return node;
  }
  function fill(id, inside) { get(id).replaceChildren.apply(get(id), inside); }

  function send(where, body) {
    var asked = body === undefined ? { cache: "no-store" } : { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
    return fetch(base + where, asked).then(function (answer) {
      if (answer.ok) { return answer.json(); }
      throw new Error(answer.status === 403 ? "The bench was started anew: open the address that the terminal shows now." : "The bench answered " + answer.status + ".");
    });
  }
  function lost(error) {
    get("link").className = "facts lost";
    get("link").textContent = error instanceof TypeError ? "No connection to the bench: is the program still running? What is on the page may be old." : error.message;
  }

  // ---------------------------------------------------------------- what is shown
  function show(state) {
    var first = told === null;
    if (told && state.version < told.version) { return; }
    told = state;
    document.title = "Bench: " + state.title;
    get("title").textContent = state.title;
    get("headline").textContent = (state.headline || "") + (state.settled ? "" : " Being made sure ...");
    get("faults").hidden = !state.faults.length;
    if (state.faults.length) {
      fill("faults", [make("p", { text: "The sheet has faults, so nothing can be entered until they are mended:" }), make("ul", {}, state.faults.map(function (each) { return make("li", { text: each, dir: "auto" }); }))]);
    }
    showJournal(state.journal);
    if (!state.grid || !state.measure.length) { return; }
    showGrid(state);
    showFindings(state.findings);
    showPlan(state.plan);
    showChoice(first);
    showSpot();
    document.body.dataset.version = state.version;
  }

  function showGrid(state) {
    var heads = state.valves.concat(state.grid.some(function (row) { return row.cells[row.cells.length - 1]; }) ? ["engine"] : []);
    var head = make("thead", {}, [make("tr", {}, [make("th", { scope: "col", "class": "word", text: "question" })].concat(heads.map(function (valve) {
      return make("th", { scope: "col" }, [make("a", { href: "valve/" + valve, text: valve })]);
    })))]);
    var body = make("tbody", {}, state.grid.map(function (row) {
      return make("tr", {}, [make("th", { scope: "row", text: row.name, title: row.says })].concat(heads.map(function (valve, place) {
        var verdict = row.cells[place];
        var cell = make("td", { "data-verdict": verdict || "none" });
        if (verdict) {
          cell.append(make("a", { href: "valve/" + valve + "?question=" + row.name + "#q-" + row.name, text: words[verdict], "aria-label": row.name + " at " + valve + ": " + words[verdict] }));
        } else { cell.textContent = "-"; }
        return cell;
      })));
    }));
    fill("grid", [make("caption", { text: "Verdict of every question at every valve" }), head, body]);
  }

  function showFindings(findings) {
    var parts = [];
    [["out", "Outside the limits: put right"], ["unsure", "Unsure: measure better"]].forEach(function (kind) {
      var own = findings.filter(function (each) { return each.verdict === kind[0]; });
      if (!own.length) { return; }
      parts.push(make("h3", { text: kind[1] }));
      parts.push(make("ul", {}, own.map(function (each) {
        return make("li", { dir: "auto" }, [make("b", { text: each.valves.join(", ") }), ": " + each.quantity + " " + each.value + ", allowed " + each.allowed + ". " + each.advice]);
      })));
    });
    fill("findings", parts);
  }

  function showPlan(stages) {
    fill("stages", stages.map(function (stage) {
      var item = make("li", {}, [make("h3", { text: stage.title })]);
      if (!stage.steps.length) { item.append(make("p", { text: stage.none })); return item; }
      item.append(make("ul", { "class": "ticks" }, stage.steps.map(function (step) {
        var box = make("input", { type: "checkbox" });
        box.addEventListener("change", function () { if (box.checked) { after(stage, step); } });
        return make("li", {}, [make("label", {}, [box, make("span", { dir: "auto" }, [make("b", { text: step.where }), ": " + step.what])])]);
      })));
      return item;
    }));
  }
  // A step that is done asks for what is measured after it: the value is what tells that it was.
  function after(stage, step) {
    if (!stage.after || !choose(stage.after, step.valves[0])) {
      say("said", ["Done. Measure again what this step has changed; the answer follows."]);
      return;
    }
    say("said", ["Done: " + step.where + ". What is it now, measured after the work?"]);
    get("field").focus();
  }

  function showChoice(first) {
    var list = told.measure, kept = what;
    var groups = [["What helps most", list.filter(function (each) { return each.helps; })], ["Everything else", list.filter(function (each) { return !each.helps; })]];
    fill("what", groups.filter(function (group) { return group[1].length; }).map(function (group) {
      return make("optgroup", { label: group[0] }, group[1].map(function (each) {
        var missing = each.spots.filter(function (one) { return !one[2]; }).length;
        var count = each.spots.length - missing;
        return make("option", { value: each.id, text: named(each.id) + (count ? " (" + count + " of " + each.spots.length + ")" : "") });
      }));
    }));
    if (first || !current(kept)) { what = list[0].id; spot = open(current(what)); } else { what = kept; }
    get("what").value = what;
  }
  function named(id) { return id.replace(/[._]/g, " "); }
  function current(id) { return told.measure.filter(function (each) { return each.id === id; })[0]; }
  function open(each) {
    var place = each.spots.findIndex(function (one) { return !one[2]; });
    return place < 0 ? 0 : place;
  }

  var shownGuide = null;
  function showSpot() {
    var each = current(what), here = each.spots[spot];
    get("helps").textContent = each.helps ? "Proposed: " + each.helps + "." : "";
    get("spot").textContent = here[1];
    get("doc").textContent = named(each.id) + ": " + each.title;
    get("unit").textContent = each.unit;
    var field = get("field");
    field.setAttribute("inputmode", each.unit ? "decimal" : "text");
    field.placeholder = here[2] || (each.choices.length ? each.choices.join(" or ") : "");
    if (!field.value) { seen = here[2]; }
    fill("readings", readings.length ? ["Readings: " + readings.join("; ") + ". Their mean and scatter become value and doubt."] : []);
    fill("signs", each.choices.length ? each.choices.map(function (word) {
      return make("button", { type: "button", text: word, on: function () { field.value = word; field.focus(); } });
    }) : [".", "/", " +/- ", "-"].concat(each.unit === "in" ? [" mm"] : each.unit === "mm" ? [" in"] : []).map(function (sign) {
      return make("button", { type: "button", text: sign.trim(), "aria-label": "put in " + sign.trim(), on: function () { put(sign); } });
    }));
    fill("strip", each.spots.map(function (one, place) {
      var button = make("button", { type: "button", "aria-current": place === spot ? "true" : "false", on: function () { go(place); } }, [make("b", { text: one[1] })]);
      button.append(one[2] ? make("span", { text: one[2] }) : make("span", { "class": "none", text: "blank" }));
      return button;
    }));
    if (shownGuide !== each.guide + each.instrument) {
      shownGuide = each.guide + each.instrument;
      showGuide(each);
    }
  }
  function showGuide(each) {
    var mine = shownGuide;
    var with_ = each.instrument ? [make("p", {}, [make("b", { text: each.instrument }), each.known ? " (" + each.known + ")" : ""])] : [];
    if (!each.guide) { fill("guide", with_); return; }
    fetch("/guide/" + encodeURIComponent(each.guide)).then(function (answer) { return answer.json(); }).then(function (guide) {
      if (mine !== shownGuide) { return; }
      var parts = [make("h3", { text: guide.title })].concat(with_);
      if (guide.drawing) { parts.push(make("img", { src: guide.drawing, alt: "Drawing: " + guide.title })); }
      parts.push(make("ol", {}, guide.how.map(function (line) { return make("li", { text: line }); })));
      if (guide.instead) { parts.push(make("p", { text: "Without the instrument: " + guide.instead })); }
      if (guide.slips.length) {
        parts.push(make("details", {}, [make("summary", { text: "Usual slips" }), make("ul", {}, guide.slips.map(function (line) { return make("li", { text: line }); }))]));
      }
      guide.cautions.forEach(function (line) { parts.push(make("p", { "class": "caution", text: "Caution: " + line })); });
      fill("guide", parts);
    }).catch(lost);
  }
  function put(sign) {
    var field = get("field"), from = field.selectionStart, to = field.selectionEnd;
    field.setRangeText(sign, from, to, "end");
    field.focus();
  }

  // ---------------------------------------------------------------- entering
  function go(place) {
    var each = current(what);
    spot = (place + each.spots.length) % each.spots.length;
    readings = [];
    get("field").value = "";
    say("said", []);
    showSpot();
    get("field").focus();
    var button = get("strip").children[spot];
    if (button) { button.scrollIntoView({ block: "nearest", inline: "nearest" }); }
  }
  function choose(id, valve) {
    var each = current(id);
    if (!each) { return false; }
    what = id;
    get("what").value = id;
    var place = each.spots.findIndex(function (one) { return one[1] === valve; });
    go(place < 0 ? 0 : place);
    return true;
  }
  function say(id, parts) { fill(id, parts.map(function (each) { return typeof each === "string" ? make("p", { text: each, dir: "auto" }) : each; })); }
  function button(text, act) { return make("button", { type: "button", text: text, on: act }); }

  function keep(more) {
    var field = get("field"), each = current(what), here = each.spots[spot];
    var values = readings.concat(field.value.trim() ? [field.value.trim()] : []);
    if (more && more.readings !== undefined) { values = more.readings; }
    if (values !== null && !values.length) { go(spot + 1); return; }
    var began = performance.now();
    var request = { key: here[0], readings: values, seen: more && more.seen !== undefined ? more.seen : seen, sure: !!(more && more.sure) };
    if (busy) { waiting = more || {}; return; }
    busy = true;
    send("value", request).then(function (answer) {
      busy = false;
      if (answer.faults) { say("said", answer.faults); field.select(); return; }
      if (answer.unlikely) { askUnlikely(answer.unlikely, values); return; }
      if (answer.conflict) { show(answer.state); askConflict(answer.conflict, values); return; }
      field.value = "";
      show(answer.state);
      go(spot + 1);
      get("live").textContent = stands(here[1]);
      document.body.dataset.took = String(performance.now() - began);
      document.body.dataset.saved = String(Number(document.body.dataset.saved || 0) + 1);
    }).catch(function (error) { busy = false; lost(error); say("said", ["Not kept: there is no answer from the bench."]); });
  }
  // How the valve stands that was just entered.
  function stands(valve) {
    var place = told.valves.indexOf(valve);
    if (place < 0) { return told.headline; }
    var open = told.grid.filter(function (row) { return row.cells[place] && row.cells[place] !== "ok"; });
    if (!open.length) { return valve + ": right in every question asked."; }
    return valve + ": " + open.map(function (row) { return row.name + " " + words[row.cells[place]]; }).join(", ") + ".";
  }
  function askUnlikely(asked, values) {
    var parts = [asked.words];
    var row = make("p", { "class": "keys" });
    if (asked.meant) {
      parts[0] += " " + values.join("; ") + " or " + asked.meant + "?";
      row.append(button("It is " + asked.meant, function () { readings = []; keep({ readings: [asked.meant], sure: true }); }));
    }
    row.append(button("It is " + values.join("; "), function () { keep({ readings: values, sure: true }); }));
    row.append(button("Read it again", function () { readings = []; get("field").value = ""; say("said", []); get("field").focus(); }));
    parts.push(row);
    say("said", parts);
    row.firstChild.focus();
  }
  function askConflict(conflict, values) {
    var now = conflict.now || "unknown", yours = conflict.yours || "unknown";
    say("said", ["Meanwhile someone else has written " + now + " here. You have " + yours + ". Which is it?", make("p", { "class": "keys" }, [
      button("Mine: " + yours, function () { keep({ readings: values, seen: conflict.now || "", sure: true }); }),
      button("Theirs: " + now, function () { readings = []; get("field").value = ""; go(spot); })
    ])]);
  }

  get("keep").addEventListener("click", function () { keep(); });
  get("again").addEventListener("click", another);
  function another() {
    var field = get("field");
    if (field.value.trim()) { readings.push(field.value.trim()); field.value = ""; }
    showSpot();
    field.focus();
  }
  get("previous").addEventListener("click", function () { go(spot - 1); });
  get("following").addEventListener("click", function () { go(spot + 1); });
  get("cannot").addEventListener("click", function () {
    if (current(what).spots[spot][2]) { keep({ readings: null }); } else { go(spot + 1); }
  });
  get("what").addEventListener("change", function () { what = get("what").value; shownGuide = null; go(open(current(what))); });
  get("field").addEventListener("input", function () { if (get("field").value.length === 1) { seen = current(what).spots[spot][2]; } });
  get("field").addEventListener("keydown", function (event) {
    if (event.isComposing) { return; }
    if (event.key === "Enter") { event.preventDefault(); if (event.shiftKey) { another(); } else { keep(); } }
    if (event.key === "PageUp") { event.preventDefault(); go(spot - 1); }
    if (event.key === "PageDown") { event.preventDefault(); go(spot + 1); }
    if (event.key === "Escape") { readings = []; get("field").value = ""; say("said", []); showSpot(); }
  });

  // ---------------------------------------------------------------- trying
  function places() {
    var keys = [];
    told.measure.forEach(function (each) { each.spots.forEach(function (one) { keys.push(one[0]); }); });
    fill("places", keys.map(function (key) { return make("option", { value: key }); }));
  }
  get("try-key").addEventListener("focus", places);
  function tryNow() {
    var keys = Object.keys(tried);
    fill("tried", keys.map(function (key) {
      return make("li", {}, [key + " = " + (tried[key] || "unknown") + " ", button("drop", function () { delete tried[key]; tryNow(); })]);
    }));
    get("try-keep").hidden = get("try-drop").hidden = !keys.length;
    if (!keys.length) { fill("compared", []); say("try-said", []); return; }
    send("try", { values: tried }).then(function (answer) {
      if (answer.faults) { say("try-said", answer.faults); fill("compared", []); return; }
      say("try-said", []);
      fill("compared", answer.blocks.map(function (block) {
        if (block.sentence) { return make("p", { text: block.sentence }); }
        return make("div", { "class": "wide" }, [make("table", {}, [make("caption", { text: block.caption }),
          make("thead", {}, [make("tr", {}, block.columns.map(function (name) { return make("th", { scope: "col", text: name }); }))]),
          make("tbody", {}, block.rows.map(function (row) {
            return make("tr", {}, row.map(function (cell, place) { return make(place ? "td" : "th", { text: cell, dir: "auto" }); }));
          }))])]);
      }));
    }).catch(lost);
  }
  get("try-add").addEventListener("click", function () {
    var key = get("try-key").value.trim();
    if (!key) { return; }
    tried[key] = get("try-value").value.trim();
    get("try-value").value = "";
    tryNow();
  });
  ["try-key", "try-value"].forEach(function (id) {
    get(id).addEventListener("keydown", function (event) { if (event.key === "Enter") { event.preventDefault(); get("try-add").click(); } });
  });
  get("try-drop").addEventListener("click", function () { tried = {}; tryNow(); });
  get("try-keep").addEventListener("click", function () {
    send("keep", { values: tried }).then(function (answer) {
      if (answer.faults) { say("try-said", answer.faults); return; }
      var shims = Object.keys(tried).some(function (key) { return /stand_shim$/.test(key); });
      tried = {};
      tryNow();
      show(answer.state);
      if (shims) { say("try-said", ["Kept, with the shaft's height as it follows from the shim. Fitted it? Then measure that height again."]); }
    }).catch(lost);
  });

  // ---------------------------------------------------------------- journal
  function showJournal(journal) {
    get("undo").disabled = !journal.undo;
    get("redo").disabled = !journal.redo;
    if (journal.fault) { say("journal-said", [journal.fault]); }
    var later = 0;
    fill("entries", journal.entries.map(function (each) {
      var item = make("li", { value: each.number }, [make("span", { dir: "auto", "class": each.undone ? "gone" : "", text: each.words + ", " + each.when })]);
      if (each.own && !each.undone) {
        var steps = later;
        later += 1;
        if (steps) { item.append(button("back to here", function () { turn("undo", steps); })); }
      }
      return item;
    }));
  }
  function turn(where, steps) {
    send(where, { steps: steps }).then(function (answer) {
      if (answer.faults) { say("journal-said", answer.faults); refresh(); return; }
      say("journal-said", []);
      show(answer.state);
    }).catch(lost);
  }
  get("undo").addEventListener("click", function () { turn("undo", 1); });
  get("redo").addEventListener("click", function () { turn("redo", 1); });

  // ---------------------------------------------------------------- what others do
  function refresh() { return send("state").then(show).catch(lost); }
  function listen() {
    var events = new EventSource(base + "changes");
    events.onopen = function () { get("link").className = "facts"; get("link").textContent = ""; };
    events.onmessage = function (event) {
      if (!busy && (!told || Number(event.data) !== told.version)) { refresh(); }
    };
    events.onerror = function () { lost(new TypeError()); };
  }
  refresh().then(function () { get("field").focus({ preventScroll: true }); listen(); });
})();
