// The page of a piece.

import "./layers.js";
import "./strip.js";
import "./choosing.js";
import "./slips.js";
import "./keys.js";
import { settle } from "./sheet.js";
import { load } from "./notes.js";
import { setUp } from "./player.js";

load();
setUp();
settle();
