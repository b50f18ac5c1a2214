// A page of a job that changes only in its strip.

import "./queue.js";
import { refreshStrip } from "./strip.js";
import { stream } from "./stream.js";

const job = document.getElementById("strip").dataset.job;
const look = () => refreshStrip(job);
stream(`/api/jobs/${job}/events`, { hello: look, entry: look, answer: look, here: look });
