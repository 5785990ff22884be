// What the page does by script: nothing that cannot be done without.
"use strict";
