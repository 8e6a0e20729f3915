"use strict";
(function () {
  var form = document.getElementById("interview"), said = document.getElementById("new-said");
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    var told = { known: {}, instruments: [] };
    ["title", "cylinders", "valves_per_cylinder", "shafts", "units"].forEach(function (name) { told[name] = form.elements[name].value.trim(); });
    Array.prototype.forEach.call(form.querySelectorAll("[data-key]"), function (each) {
      if (each.value.trim()) { told.known[each.dataset.key] = each.value.trim(); }
    });
    Array.prototype.forEach.call(form.querySelectorAll("[name=instruments]:checked"), function (each) { told.instruments.push(each.value); });
    fetch("/new", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(told) }).then(function (answer) {
      return answer.json();
    }).then(function (answer) {
      if (answer.name) { window.location.assign("/sheet/" + encodeURIComponent(answer.name) + "/"); return; }
      said.replaceChildren.apply(said, answer.faults.map(function (each) {
        var line = document.createElement("p");
        line.textContent = each;
        return line;
      }));
      said.scrollIntoView({ block: "center" });
    }).catch(function () { said.textContent = "No answer from the bench: is the program still running?"; });
  });
})();
