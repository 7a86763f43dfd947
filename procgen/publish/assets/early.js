/* Before the page is painted: the reader's choice of light, dark or outdoor colours. Without one the device decides. */
(function () {
  "use strict";
  var root = document.documentElement;
  root.classList.remove("no-js");
  root.classList.add("js");
  try {
    var choice = localStorage.getItem("procgen.theme");
    if (/^(light|dark|outdoor)$/.test(choice)) root.setAttribute("data-theme", choice);
  } catch (error) {
    /* storage is refused: the device decides */
  }
})();
