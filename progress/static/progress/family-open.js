// Take the secret out of the address: it stands behind the #, which browsers send to nobody.
const form = document.querySelector("[data-open-family]");
const typed = document.querySelector("[data-typed]");
const ready = document.querySelector("[data-ready]");
const secret = decodeURIComponent(location.hash.slice(1));

if (form && secret) {
  form.elements.token.value = secret;
  // The secret need not stay in the history of a shared phone.
  history.replaceState(null, "", location.pathname);
  typed.hidden = true;
  ready.hidden = false;
  form.querySelector("button").focus();
}
