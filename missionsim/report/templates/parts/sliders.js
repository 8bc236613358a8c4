/* Sliders over flown years: sums of parts, the same in the saved report and on the page. */
function startSliders() {
  "use strict";
  var box = document.getElementById("sliders"), held = document.getElementById("slide-data");
  if (!box || !held) { return; }
  var study = JSON.parse(held.textContent), inputs = Array.prototype.slice.call(box.querySelectorAll("input[type=range]"));
  var begin = {};
  inputs.forEach(function (i) { begin[i.dataset.moves] = Number(i.value); });
  function dollars(x) { return (x < 0 ? "\u2212$" : "$") + Math.abs(Math.round(x / 100) * 100).toLocaleString("en-US"); }
  function of(values, r) { return typeof values === "number" ? values : values[r]; }   /* the same every year: said once */
  function costs(way, at) {
    var years = [];
    for (var r = 0; r < study.years; r += 1) {
      years.push(of(way.usd, r) + (at.fuel / study.fuel_usd_per_gal - 1) * of(way.fuel, r) + (at.hangar - 1) * of(way.hangar, r) +
        (at.travel - 1) * of(way.travel, r) + at.value * of(way.hours, r));
    }
    return years;
  }
  function mean(values) { return values.reduce(function (a, b) { return a + b; }, 0) / values.length; }
  function words(key, value) {
    if (key === "fuel") { return "$" + value.toFixed(2); }
    if (key === "years") { return value.toFixed(0); }
    if (key === "yield") { return (value * 100).toFixed(1) + " %"; }
    return key === "value" ? "$" + value.toFixed(0) : Math.round(value * 100) + " %";
  }
  function bestYears(all, first) {
    var n = all[0].length, best = 0;
    for (var r = 0; r < n; r += 1) {
      if (all.every(function (c, k) { return k === first || c[r] >= all[first][r]; })) { best += 1; }
    }
    return Math.round(best / n * 10);
  }
  /* What is no sum of parts is asked of the program, where there is one behind the page; only the last wish counts. */
  var asked = 0, waiting = false;
  function show() {
    var at = {}, served = false;
    inputs.forEach(function (i) {
      var value = Number(i.value), key = i.dataset.moves;
      at[key] = value;
      served = served || (i.dataset.served !== undefined && value !== begin[key]);
      box.querySelector("output[for=" + i.id + "]").textContent = words(key, value);
    });
    asked += 1;
    if (!served || !window.askYears) { tell(study.ways.map(function (w) { return costs(w, at); }), study.out); return; }
    if (waiting) { return; }
    var mine = asked;
    waiting = true;
    window.askYears(at).then(function (found) {
      waiting = false;
      if (found.costs && mine === asked) { tell(found.costs, found.out); }
      if (mine !== asked) { show(); }
    });
  }
  function tell(all, out) {
    var order = study.ways.map(function (w, k) { return { name: w.name, mark: w.mark, usd: mean(all[k]), k: k, out: w.mark === null ? "" : out[w.name] || "" }; });
    order.sort(function (a, b) { return (a.out ? 1 : 0) - (b.out ? 1 : 0) || a.usd - b.usd; });
    var list = document.getElementById("slide-list");
    list.textContent = "";
    order.forEach(function (o) {
      var li = document.createElement("li");
      if (o.mark !== null) {
        li.insertAdjacentHTML("beforeend", '<svg class="key" viewBox="0 0 12 12" aria-hidden="true"><use href="#mark-' + o.mark + '" width="12" height="12" class="c' + o.mark + '"/></svg> ');
      }
      li.appendChild(document.createTextNode(o.name + ": " + dollars(o.usd) + (o.out ? "; " + o.out : "")));
      list.appendChild(li);
    });
    var owned = order.filter(function (o) { return o.mark !== null && !o.out; });
    var says = (order[0].name === "no aircraft" ? "having no aircraft" : order[0].name) + " costs least in the average year, " + dollars(order[0].usd) + " with all trips done";
    if (order[0].mark === null && owned.length) {
      says += "; of the aircraft " + owned[0].name + ", " + dollars(owned[0].usd - order[0].usd) + " more";
    }
    if (!owned.length) { says += "; no aircraft gives that service"; }
    if (owned.length > 1) {
      var among = owned.map(function (o) { return all[o.k]; });
      says += ". " + owned[0].name + " leads the next aircraft by " + dollars(owned[1].usd - owned[0].usd) + " and is the cheapest of them in " +
        bestYears(among, 0) + " of 10 flown years, prices nobody gave at their mean";
    }
    document.getElementById("slide-says").textContent = says.charAt(0).toUpperCase() + says.slice(1) + ".";
  }
  inputs.forEach(function (i) { i.addEventListener("input", show); });
  document.getElementById("slide-back").addEventListener("click", function () {
    inputs.forEach(function (i) { i.value = begin[i.dataset.moves]; });
    show();
  });
  box.hidden = false;
  show();
}
startSliders();
