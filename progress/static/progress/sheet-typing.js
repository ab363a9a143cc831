/* Typing a paper sheet in: Enter goes to the next cell, up and down to the same skill of another
   athlete. Without this script Enter sends the form, as browsers do. */
"use strict";

(() => {
  const form = document.getElementById("typing-form");
  const fields = [...form.querySelectorAll("input.codes")];

  function below(field, step) {
    const column = fields.filter((one) => one.dataset.skill === field.dataset.skill);
    return column[column.indexOf(field) + step];
  }

  function go(field) {
    if (!field) { return; }
    field.focus();
    field.select();
  }

  form.addEventListener("keydown", (event) => {
    const field = event.target;
    if (!fields.includes(field) || event.isComposing) { return; }
    if (event.key === "Enter" && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      const next = fields[fields.indexOf(field) + 1];
      if (next) { go(next); } else { form.querySelector("button[type=submit]").focus(); }
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      go(below(field, event.key === "ArrowDown" ? 1 : -1));
    }
  });
})();
