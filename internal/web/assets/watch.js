// A page of a job that changes only in its strip.

import "./queue.js";
import { refreshStrip } from "./strip.js";

const job = document.getElementById("strip").dataset.job;
const source = new EventSource(`/api/jobs/${job}/events`);
for (const name of ["entry", "answer", "here"]) source.addEventListener(name, () => refreshStrip(job));
