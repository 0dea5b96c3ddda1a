(function () {
  "use strict";
  var tables = Array.prototype.slice.call(document.querySelectorAll("table.sort"));
  var find = document.getElementById("find");

  function value(row, at) {
    var cell = row.cells[at];
    return cell ? cell.getAttribute("data-v") || cell.textContent.trim() : "";
  }

  function compare(a, b) {
    var x = Number(a), y = Number(b);
    return a !== "" && b !== "" && !isNaN(x) && !isNaN(y) ? x - y : a.localeCompare(b);
  }

  function sort(table, at) {
    var heads = table.tHead.rows[0].cells, body = table.tBodies[0];
    var down = heads[at].getAttribute("aria-sort") === "ascending";
    var rows = Array.prototype.slice.call(body.rows);
    rows.sort(function (a, b) { return compare(value(a, at), value(b, at)) * (down ? -1 : 1); });
    rows.forEach(function (row) { body.appendChild(row); });
    for (var i = 0; i < heads.length; i += 1) { heads[i].removeAttribute("aria-sort"); }
    heads[at].setAttribute("aria-sort", down ? "descending" : "ascending");
  }

  function makeSortable(table) {
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, at) {
      // Nothing is sorted by a column of buttons, which has no name.
      if (head.textContent.trim() === "") { return; }
      var button = document.createElement("button");
      button.type = "button";
      button.textContent = head.textContent;
      button.addEventListener("click", function () { sort(table, at); });
      head.textContent = "";
      head.appendChild(button);
    });
  }

  function show(words) {
    words = words.toLowerCase();
    tables.forEach(function (table) {
      var found = 0;
      Array.prototype.forEach.call(table.tBodies[0].rows, function (row) {
        row.hidden = row.textContent.toLowerCase().indexOf(words) < 0;
        if (!row.hidden) { found += 1; }
      });
      var fold = table.closest("details");
      if (fold && words) { fold.open = found > 0; }
    });
  }

  function quoted(text) {
    return '"' + text.replace(/\s+/g, " ").trim().replace(/"/g, '""') + '"';
  }

  function save() {
    var lines = [];
    tables.forEach(function (table) {
      lines.push(quoted(table.caption ? table.caption.textContent : ""));
      Array.prototype.forEach.call(table.rows, function (row) {
        if (!row.hidden) {
          lines.push(Array.prototype.map.call(row.cells, function (cell) {
            return quoted(cell.getAttribute("data-v") || cell.textContent);
          }).join(","));
        }
      });
      lines.push("");
    });
    var link = document.createElement("a");
    link.href = "data:text/csv;charset=utf-8," + encodeURIComponent(lines.join("\r\n"));
    link.download = "tables.csv";
    link.click();
  }

  function follow(work) {
    fetch("/planning.json").then(function (answer) { return answer.json(); }).then(function (told) {
      if (told.state !== "running") { location.reload(); return; }
      work.querySelector("[data-words]").textContent = told.words;
      work.querySelector("[data-time]").textContent = told.time;
      work.querySelector("[data-futures]").textContent = told.futures;
      var bar = work.querySelector("progress");
      if (told.of) { bar.max = told.of; bar.value = told.done; }
      setTimeout(follow, 2000, work);
    }).catch(function () { setTimeout(follow, 2000, work); });
  }

  /* Shows the page anew once the odds are drawn, unless somebody is typing. */
  function followOdds() {
    fetch("/odds.json").then(function (answer) { return answer.json(); }).then(function (told) {
      var at = document.activeElement;
      var types = at && /^(INPUT|SELECT|TEXTAREA)$/.test(at.tagName);
      if (told.is_stale || types) { setTimeout(followOdds, 700); return; }
      location.reload();
    }).catch(function () { setTimeout(followOdds, 2000); });
  }

  tables.forEach(makeSortable);
  if (document.querySelector("[data-odds]")) { setTimeout(followOdds, 700); }
  var work = document.querySelector("[data-work]");
  if (work) { setTimeout(follow, 2000, work); }
  if (!find) { return; }
  var input = find.querySelector("input");
  input.addEventListener("input", function () {
    history.replaceState(null, "", "#find=" + encodeURIComponent(input.value));
    show(input.value);
  });
  find.querySelector("button").addEventListener("click", save);
  find.hidden = false;
  if (location.hash.indexOf("#find=") === 0) {
    input.value = decodeURIComponent(location.hash.slice(6));
    show(input.value);
  }
}());
