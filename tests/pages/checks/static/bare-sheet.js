/* What a sheet does with its queue, and nothing else. Tests ask `window.gymQueue` directly. */
import { newUid, openQueue } from "/static/progress/sheet-queue.js";

const { class: classCode, coach } = document.querySelector("script[data-class]").dataset;
const sendUrl = `/classes/${classCode}/checks/send/`;
const queue = await openQueue({ classCode, sendUrl, tokenUrl: "/checks/token/", coach });

queue.subscribe((news) => {
  window.gymNews = news;
  document.getElementById("news").textContent = `${news.state}, ${news.waiting} waiting, ${news.refused.length} refused, ${news.others} by others, ${news.elsewhere} elsewhere`;
});

window.newEntry = (entry) => ({
  uid: newUid(), variant: null, at: new Date().toISOString(), supersedes: null, taken_back: false, reason: "", ...entry,
});
window.gymQueue = queue;
/* Resolves once #news says what is true now: a queue tells its news some time after a change. */
window.newsIsFresh = () => new Promise((resolve) => { const stop = queue.subscribe(() => { stop?.(); resolve(); }); });
document.documentElement.dataset.ready = "yes";
