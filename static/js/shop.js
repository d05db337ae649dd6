// What every page of the shop does besides its own work: listen, keep ticks, count down, ring.
// One entry, so that each module exists once; they find each other by plain imports.

import { startAlarm } from "./alarm.js";
import { startAwake } from "./awake.js";
import { startForms } from "./log.js";
import { startLive } from "./live.js";
import { startQueue } from "./queue.js";
import { startFolds } from "./folds.js";
import { startTimers } from "./timers.js";

startLive();
startQueue();
startTimers();
startAlarm();
startAwake();
startForms();
startFolds();
