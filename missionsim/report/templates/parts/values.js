/* What a mark of a picture says: on hover by the browser, on focus and tap here. A picture is one stop for Tab, arrows move within. */
function startValues() {
  "use strict";
  function group(mark) { return mark.ownerSVGElement || mark.closest("figure"); }
  function marks(root) {
    return Array.prototype.map.call(root.querySelectorAll("title"), function (t) { return t.parentNode; }).filter(function (m) { return group(m) === root; });
  }
  function says(mark) { return mark.closest && mark.closest("figure") && mark.querySelector(":scope > title"); }
  var tip = document.getElementById("value-tip");
  Array.prototype.forEach.call(document.querySelectorAll("figure svg title"), function (title) {
    var mark = title.parentNode, root = group(mark);
    if (mark.tagName !== "a") { mark.setAttribute("role", "img"); mark.setAttribute("aria-label", title.textContent); }
    mark.setAttribute("tabindex", mark === marks(root)[0] ? "0" : "-1");
    if (root.tagName === "svg" && root.getAttribute("role") === "img") { root.setAttribute("role", "group"); }
  });
  if (tip) { return; }
  tip = document.createElement("p");
  tip.id = "value-tip";
  tip.hidden = true;
  tip.setAttribute("aria-hidden", "true");   /* the mark bears the same words as its name */
  document.body.appendChild(tip);
  function hide() { tip.hidden = true; }
  document.addEventListener("focusin", function (e) {
    var title = says(e.target);
    hide();
    if (!title) { return; }
    tip.textContent = title.textContent;
    tip.hidden = false;
    var at = e.target.getBoundingClientRect(), low = at.bottom + 8, wide = document.documentElement.clientWidth;
    tip.style.left = window.scrollX + Math.max(4, Math.min(at.left, wide - tip.offsetWidth - 4)) + "px";
    tip.style.top = window.scrollY + (low + tip.offsetHeight > window.innerHeight ? at.top - tip.offsetHeight - 8 : low) + "px";
  });
  document.addEventListener("focusout", hide);
  document.addEventListener("keydown", function (e) {
    var step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
    if (e.key === "Escape") { hide(); }
    if (!step || !says(e.target)) { return; }
    var all = marks(group(e.target)), next = all[(all.indexOf(e.target) + step + all.length) % all.length];
    e.preventDefault();
    e.target.setAttribute("tabindex", "-1");
    next.setAttribute("tabindex", "0");
    next.focus({ preventScroll: all.length > 1 && group(next).tagName === "svg" });
  });
}
startValues();
