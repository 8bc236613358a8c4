/* Where each way wins, as the value of an hour moves: every step is worked out beforehand from the years flown. */
function startGrid() {
  "use strict";
  var held = document.getElementById("grid-data"), slider = document.getElementById("grid-value");
  if (!held || !slider) { return; }
  var told = JSON.parse(held.textContent), box = slider.closest(".grid"), layer = box.querySelector(".own"), mover = slider.parentNode;
  var cells = layer.querySelectorAll("td ul");
  function winner(way, made, first) {
    var li = document.createElement("li"), name = document.createElement(first ? "b" : "span");
    if (way.mark >= 0) {
      li.insertAdjacentHTML("beforeend", '<svg class="key" viewBox="0 0 12 12" aria-hidden="true"><use href="#mark-' + way.mark + '" width="12" height="12" class="c' + way.mark + '"/></svg> ');
    }
    name.textContent = way.name;
    li.appendChild(name);
    if (made) { li.appendChild(Object.assign(document.createElement("span"), { className: "soft", textContent: " " + made })); }
    return li;
  }
  function show() {
    var k = Number(slider.value), usd = "$" + told.usd_per_h[k];
    mover.querySelector("output").textContent = usd;
    slider.setAttribute("aria-valuetext", usd);
    layer.querySelector("caption b").textContent = usd;
    layer.querySelector(".wide").setAttribute("aria-label", "Best by distance and party with an adult's hour at " + usd);
    Array.prototype.forEach.call(cells, function (ul, i) {
      ul.textContent = "";
      told.cells[i].best[k].split(" ").forEach(function (w, n) { ul.appendChild(winner(told.ways[w], told.cells[i].made[w], n === 0)); });
    });
  }
  slider.addEventListener("input", show);
  box.classList.add("moved");
  mover.hidden = false;
  show();
}
startGrid();
