(function () {
  "use strict";
  function parts() { return Array.prototype.slice.call(document.querySelectorAll("details.part")); }
  var all = document.getElementById("open-all");
  if (all) {
    all.hidden = false;
    all.addEventListener("click", function () { parts().forEach(function (d) { d.open = true; }); });
  }
  function reveal() {
    var target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    for (var d = target; d; d = d.parentElement) { if (d.tagName === "DETAILS") { d.open = true; } }
    if (target) { target.scrollIntoView(); }
  }
  window.addEventListener("hashchange", reveal);
  reveal();
  var table = document.getElementById("trip-table"), find = document.getElementById("find");
  if (!table || !find) { return; }
  var body = table.tBodies[0], rows = Array.prototype.slice.call(body.rows), box = find.querySelector("input");
  var told = document.getElementById("found");
  find.hidden = false;
  table.classList.add("sortable");
  function search() {
    var words = box.value.toLowerCase().split(/\s+/).filter(Boolean), shown = 0;
    function fits(text) { return words.every(function (w) { return text.indexOf(w) >= 0; }); }
    rows.forEach(function (row) {
      row.hidden = !fits(row.textContent.toLowerCase());
      if (!row.hidden) { shown += 1; }
      var story = document.getElementById(row.dataset.story);
      if (story) { story.hidden = row.hidden; }
    });
    told.textContent = shown + " of " + rows.length + " trips";
  }
  box.addEventListener("input", search);
  search();
  Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, i) {
    var button = document.createElement("button");
    button.type = "button";
    while (head.firstChild) { button.appendChild(head.firstChild); }
    head.appendChild(button);
    head.setAttribute("aria-sort", "none");
    button.addEventListener("click", function () {
      var up = head.getAttribute("aria-sort") !== "ascending";
      Array.prototype.forEach.call(table.tHead.rows[0].cells, function (h) { h.setAttribute("aria-sort", "none"); });
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      function value(row) {
        var cell = row.cells[i], shown = cell.querySelector("a, b") || cell;   /* as shown, where nothing else is said */
        return cell.dataset.sort === undefined ? shown.textContent.replace(/ %$/, "").replace(/,(?=\d)/g, "") : cell.dataset.sort;
      }
      rows.sort(function (a, b) {
        var x = value(a), y = value(b), n = Number(x) - Number(y);
        var order = isNaN(n) ? x.localeCompare(y) : n;
        return up ? order : -order;
      });
      rows.forEach(function (row) { body.appendChild(row); });
    });
  });
  function open() {
    var story = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (story && story.tagName === "DETAILS") { story.hidden = false; story.open = true; story.scrollIntoView(); }
  }
  window.addEventListener("hashchange", open);
  open();
}());
