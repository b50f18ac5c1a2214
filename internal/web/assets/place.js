// A place's panel as a page of its own.

import "./queue.js";
import { wire } from "./entry.js";

const root = document.getElementById("job");
wire(document.getElementById("place-body"), { job: root.dataset.job, seq: () => 0 }, 
  (answer) => location.assign(`/jobs/${root.dataset.job}${answer?.ok && answer.id ? "/findings/" + answer.id : ""}`));
