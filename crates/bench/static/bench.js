// The march from spot to spot, readings kept while the line is down, gauges that type, the verdict as it grows.
// The pages are whole without this: each form goes to the same address with or without it.
(function () {
  "use strict";

  var entry = document.getElementById("entry");
  var PATIENCE_MS = 300;

  function byId(id) { return document.getElementById(id); }

  // 128 bits from the browser's own source; randomUUID is not there on plain http.
  function freshId() {
    var bytes = new Uint8Array(16);
    window.crypto.getRandomValues(bytes);
    return Array.prototype.map.call(bytes, function (b) { return ("0" + b.toString(16)).slice(-2); }).join("");
  }

  // ---- the verdict as it grows ----

  var askedFor = 0;
  function refreshSoFar() {
    var panel = byId("so-far");
    if (!panel) { return; }
    var mine = ++askedFor;
    window.fetch(panel.dataset.from, { credentials: "same-origin" }).then(function (answer) {
      return answer.ok ? answer.text() : null;
    }).then(function (html) {
      if (html === null || mine !== askedFor) { return; }
      var old = byId("so-far");
      old.insertAdjacentHTML("afterend", html);
      old.remove();
      keepLooking();
    }).catch(function () { /* the line is down; the words beside the box say so */ });
  }
  function keepLooking() {
    var panel = byId("so-far");
    if (panel && panel.hasAttribute("data-working")) { window.setTimeout(refreshSoFar, 1000); }
  }
  keepLooking();

  // The page of the verdict, while figures are worked out: its own part again, not while somebody is in it.
  function keepJudging() {
    var part = byId("verdict");
    if (!part || !part.hasAttribute("data-working")) { return; }
    window.setTimeout(function () {
      if (part.contains(document.activeElement)) { keepJudging(); return; }
      window.fetch(part.dataset.from, { credentials: "same-origin" }).then(function (answer) {
        return answer.ok ? answer.text() : null;
      }).then(function (html) {
        var fresh = html && new DOMParser().parseFromString(html, "text/html").getElementById("verdict");
        if (fresh) { part.parentNode.replaceChild(document.importNode(fresh, true), part); }
        keepJudging();
      }).catch(function () { /* the link on the page does the same by hand */ });
    }, 1000);
  }
  keepJudging();

  // Help me read it: one more or one less without a new page, by the buttons or by the arrow keys.

  function countTo(link) {
    window.fetch(link.href, { credentials: "same-origin" }).then(function (answer) { return answer.text(); }).then(function (text) {
      var fresh = new DOMParser().parseFromString(text, "text/html").getElementById("read");
      var id = document.activeElement.id;
      if (!fresh) { window.location.assign(link.href); return; }
      byId("read").parentNode.replaceChild(document.importNode(fresh, true), byId("read"));
      window.history.replaceState(null, "", link.href);
      (byId(id) || byId("count")).focus();
    }).catch(function () { window.location.assign(link.href); });
  }
  document.addEventListener("click", function (event) {
    var link = event.target.closest ? event.target.closest("#read a.count") : null;
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    event.preventDefault();
    link.focus();
    countTo(link);
  });
  document.addEventListener("keydown", function (event) {
    var link = event.target.id !== "count" ? null : event.key === "ArrowUp" ? byId("more") : event.key === "ArrowDown" ? byId("less") : null;
    if (link) { event.preventDefault(); countTo(link); }
  });

  if (!entry) { return; }

  var form = byId("entry-form");
  var box = byId("reading");
  var job = form.action.replace(/^.*\/jobs\/(\d+)\/.*$/, "$1");
  var KEPT = "readings of job " + job;
  var kept = [];          // readings not yet known to be saved, in order
  var sending = false;
  var memoryWorks = true; // whether the browser lets us keep things
  var title = document.title;

  function walk() {
    return entry.dataset.walk.split(";").filter(Boolean).map(function (line) {
      var parts = line.split("|");
      return { spot: parts[0], name: parts[1], direction: parts[2], size: parts[3] };
    });
  }

  // ---- the outbox ----

  function load() {
    try {
      kept = JSON.parse(window.localStorage.getItem(KEPT) || "[]");
      if (!Array.isArray(kept)) { kept = []; }
    } catch (e) { memoryWorks = false; kept = []; }
  }

  function store() {
    try {
      if (kept.length) { window.localStorage.setItem(KEPT, JSON.stringify(kept)); } else { window.localStorage.removeItem(KEPT); }
      memoryWorks = true;
    } catch (e) { memoryWorks = false; }
  }

  function say(words) { byId("last").textContent = words; }
  function fault(words) {
    byId("fault").textContent = words;
    if (words) { box.setAttribute("aria-invalid", "true"); } else { box.removeAttribute("aria-invalid"); }
    box.setAttribute("aria-describedby", words ? "how fault" : "how");
    document.title = (words ? "Error: " : "") + title;
  }

  function line(down) {
    var words = "";
    if (kept.length && down) {
      words = (kept.length === 1 ? "1 reading is" : kept.length + " readings are") +
        " kept on this tablet. The shop computer is not answering. Keep measuring; do not close this page.";
    } else if (!memoryWorks) {
      words = "This browser keeps nothing when the line is down. Print a blank form, or write readings down until it answers.";
    }
    byId("line").textContent = words;
  }

  // A request that may be repeated: the entry has its own name, so that it is saved once.
  function post(reading) {
    var body = new window.URLSearchParams();
    Object.keys(reading).forEach(function (key) { body.append(key, reading[key]); });
    body.set("token", form.elements.token.value);
    return window.fetch(form.action, {
      method: "POST", credentials: "same-origin", body: body,
      headers: { "Accept": "application/json" }
    });
  }

  function flush() {
    if (sending || !kept.length) { return; }
    sending = true;
    var reading = kept[0];
    var late = window.setTimeout(function () { if (sending) { byId("saved").textContent = "Saving " + kept.length + " …"; } }, 1000);
    post(reading).then(function (answer) {
      return answer.text().then(function (text) {
        var told = null;
        try { told = JSON.parse(text); } catch (e) { /* not ours */ }
        return { ok: answer.ok, status: answer.status, told: told };
      });
    }).then(function (came) {
      window.clearTimeout(late);
      sending = false;
      var wasDown = byId("line").textContent !== "";
      if (came.ok && came.told) {
        kept.shift(); store(); line(false);
        after(came.told, reading, wasDown);
      } else if (came.told && came.status < 500 && came.status !== 409) {
        // It cannot be a reading: back into the box, nothing is saved.
        kept.shift(); store(); line(false);
        refused(came.told, reading);
      } else if (came.status === 409) {
        line(false);
        fault("This page is older than the program. Your readings are kept. Load the page again.");
        return;
      } else {
        fault(came.told ? came.told.happened + " " + came.told.safety + " " + came.told.advice : "");
        line(true);
        window.setTimeout(flush, 2000);
        return;
      }
      flush();
    }).catch(function () {
      window.clearTimeout(late);
      sending = false;
      line(true);
      window.setTimeout(flush, 2000);
    });
  }

  // ---- from spot to spot ----

  function goTo(next) {
    byId("spot").value = next.spot;
    byId("spot-text").textContent = next.name;
    byId("spot-again").textContent = next.again ? ": " + next.again : "";
    byId("direction").textContent = next.direction;
    byId("throw").setAttribute("class", /\.b$/.test(next.spot) ? "throw square" : "throw");
    byId("corrects").value = "";
    if (byId("helper")) { byId("helper").href = byId("helper").href.replace(/\?.*/, "?spot=" + next.spot); }
    title = title.replace(/^.*?(, job )/, next.name + "$1");
    document.title = title;
  }

  // The next spot without a size, as far as this page knows: for while the line is down.
  function onward(from, size) {
    var spots = walk();
    var at = spots.findIndex(function (one) { return one.spot === from; });
    if (at >= 0) { spots[at].size = size; }
    entry.dataset.walk = spots.map(function (one) { return [one.spot, one.name, one.direction, one.size].join("|"); }).join(";");
    for (var n = 1; n <= spots.length; n += 1) {
      var next = spots[(at + n) % spots.length];
      if (!next.size) { goTo(next); return; }
    }
  }

  // Which sizes look whole turns of the thimble out the program has told; here they are only looked up.
  function turnAway(spot, typed) {
    var journal = spot.split(".")[0];
    var size = parseFloat(typed.replace(",", "."));
    var found = entry.dataset.turns.split(";").map(function (line) { return line.split("|"); }).filter(function (told) {
      return told[0] === journal && size >= parseFloat(told[1]) && size <= parseFloat(told[2]);
    })[0];
    if (!found) { return ""; }
    return typed + " is about " + (found[3] === "1" ? "one full turn" : found[3] + " turns") + " of the thimble away from the others here. Look again.";
  }

  function after(told, reading, wasDown) {
    say(wasDown && !kept.length ? "All readings saved. " + told.says : told.says);
    byId("saved").textContent = told.saved;
    form.elements.seen.value = told.seq;
    byId("undo-form").hidden = !told.undo;
    byId("undo-words").textContent = told.undo || "Undo";
    byId("undo-entry").value = told.undo_entry;
    byId("undo-form").elements.seen.value = told.seq;
    byId("undo-form").elements.id.value = freshId();
    var redo = byId("redo-form");
    if (redo) { redo.hidden = true; }
    if (kept.length) { return; }
    entry.dataset.walk = told.walk;
    entry.dataset.turns = told.turns;
    byId("strip").innerHTML = told.strip;
    byId("list").innerHTML = told.list;
    if (!told.spot) {
      window.location.assign("/jobs/" + job + "/measure?says=" + told.said);
      return;
    }
    // Whoever is typing already is measuring; the doubt is said, and its spot comes round again.
    var typing = box.value !== "";
    byId("flags").innerHTML = typing ? "" : told.flags;
    if (!typing) { goTo(told); }
    refreshSoFar();
  }

  function refused(told, reading) {
    var says = told.fields && told.fields.length ? told.fields.map(function (f) { return f.says; }).join(" ") : told.happened + " " + told.advice;
    if (box.value === "") {
      var back = walk().filter(function (one) { return one.spot === reading.spot; })[0];
      if (back) { back.size = ""; goTo(back); }
      box.value = reading.reading;
      box.focus();
      box.select();
    } else {
      says = reading.reading + " was not saved. " + says;
    }
    fault(says);
  }

  function take(typed, source) {
    var spot = byId("spot").value;
    fault("");
    if (!typed.trim()) { fault("Reading must be a number, like the micrometer shows it."); return; }
    var local = kept.length ? turnAway(spot, typed) : "";
    var reading = {
      id: freshId(), spot: spot, reading: typed, source: source, when: new Date().toISOString(),
      "with": byId("with") ? byId("with").value : "", corrects: byId("corrects").value, seen: form.elements.seen.value
    };
    kept.push(reading);
    store();
    box.value = "";
    flush();
    window.setTimeout(function () {
      // No answer yet: the march goes on, and what is known here is looked at here.
      if (kept.indexOf(reading) < 0 || byId("spot").value !== spot) { return; }
      if (local) { say(local); return; }
      say(typed + " is kept.");
      byId("flags").innerHTML = "";
      onward(spot, typed);
      if (source === "gauge" || document.activeElement === document.body) { box.focus(); }
    }, kept.length > 1 ? 0 : PATIENCE_MS);
  }

  form.addEventListener("submit", function (event) {
    event.preventDefault();
    take(box.value, fromGauge() ? "gauge" : "typed");
    box.focus();
  });

  box.addEventListener("input", function () { if (byId("fault").textContent) { fault(""); } });

  // ---- keys ----

  function submitForm(id) { var f = byId(id); if (f && !f.hidden) { f.submit(); return true; } return false; }

  function step(by) {
    var spots = walk();
    var at = spots.findIndex(function (one) { return one.spot === byId("spot").value; });
    var to = spots[(at + by + spots.length) % spots.length];
    if (to) { window.location.assign("/jobs/" + job + "/measure?spot=" + encodeURIComponent(to.spot)); }
  }

  box.addEventListener("keydown", function (event) {
    if (event.key === "Escape") { box.value = box.defaultValue; fault(""); }
    else if ((event.ctrlKey || event.metaKey) && box.value === "" && event.key === "z") { if (submitForm("undo-form")) { event.preventDefault(); } }
    else if ((event.ctrlKey || event.metaKey) && box.value === "" && event.key === "y") { if (submitForm("redo-form")) { event.preventDefault(); } }
    else if (event.key === "ArrowUp" && box.value === "") { event.preventDefault(); step(-1); }
    else if (event.key === "ArrowDown" && box.value === "") { event.preventDefault(); step(1); }
    else if (event.key === "Enter" && event.repeat) { event.preventDefault(); }
  });

  // ---- a gauge that types ----
  // Four characters or more, closer together than any hand, then Enter, Tab or nothing: a reading for the current spot,
  // wherever the focus is; not while somebody writes in another box.

  var burst = "";
  var last = 0;
  var quiet = 0;
  var lastGauge = { text: "", at: 0 };
  var inBox = "";
  var GAP_MS = 35;
  var END_MS = 90;

  function fromGauge() { return burst.length >= 4; }

  function writing(target) {
    return target && target !== box && /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName) && !/^(radio|checkbox|button|submit|hidden)$/.test(target.type);
  }

  function clean(text) { return text.replace(/^[^0-9+\-.,]+/, "").trim(); }

  function takeBurst() {
    var text = clean(burst);
    var now = Date.now();
    burst = "";
    if (text.length < 4) { return; }
    if (text === lastGauge.text && now - lastGauge.at < 400) { say("Sent twice, kept one: " + text + "."); box.value = inBox; return; }
    lastGauge = { text: text, at: now };
    box.value = inBox;
    take(text, "gauge");
    // Wherever the focus was: what is keyed next is a reading too.
    box.focus();
  }

  document.addEventListener("keydown", function (event) {
    if (event.ctrlKey || event.altKey || event.metaKey || writing(event.target)) { burst = ""; return; }
    // The keys' own time: a busy page must not make a gauge look like a slow hand.
    var now = event.timeStamp;
    var fast = now - last <= GAP_MS;
    if (event.key.length === 1 && event.key !== " " || event.key === " " && fast) {
      if (!fast) { burst = ""; inBox = event.target === box ? box.value : ""; }
      burst += event.key;
      last = now;
      window.clearTimeout(quiet);
      // Without an ending the pause is the ending. A hand that types into the box ends with Enter.
      quiet = window.setTimeout(function () { if (burst.length >= 4 && document.activeElement !== box) { takeBurst(); } }, END_MS);
      if (event.target !== box && fast) { event.preventDefault(); }
      return;
    }
    if ((event.key === "Enter" || event.key === "Tab") && burst.length >= 4 && fast) {
      window.clearTimeout(quiet);
      event.preventDefault();
      event.stopPropagation();
      takeBurst();
      return;
    }
    if (event.key !== "Shift") { burst = ""; }
  }, true);

  // ---- fingers ----

  var pad = byId("pad");
  function showPad() {
    if (!pad.hidden) { return; }
    pad.hidden = false;
    box.setAttribute("inputmode", "none");
    ["7", "8", "9", "Rub out", "4", "5", "6", "Save", "1", "2", "3", "0", ".", "−"].forEach(function (key) {
      var button = document.createElement("button");
      button.type = "button";
      button.textContent = key;
      button.className = key === "Save" ? "pad-save" : key === "Rub out" ? "pad-rub" : "fig";
      var bounced = 0;
      button.addEventListener("click", function () {
        var now = Date.now();
        if (now - bounced < 60) { return; }
        bounced = now;
        if (key === "Save") { take(box.value, "typed"); }
        else if (key === "Rub out") { box.value = box.value.slice(0, -1); }
        else { box.value += key === "−" ? "-" : key; }
      });
      pad.appendChild(button);
    });
  }
  if (window.matchMedia && window.matchMedia("(pointer: coarse)").matches) { showPad(); }

  // ---- beginning ----

  load();
  if (kept.length) { line(true); say("Readings from before are still on this tablet; sending them now."); flush(); }
  document.addEventListener("visibilitychange", flush);
  window.addEventListener("online", flush);
  window.addEventListener("beforeunload", function (event) {
    if (kept.length && !memoryWorks) { event.preventDefault(); event.returnValue = ""; }
  });
  if (!byId("fault").textContent) { box.focus(); }
}());
