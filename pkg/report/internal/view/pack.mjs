// Packs the built view: it is embedded in the command, four times as large unpacked.
import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { gzipSync } from "node:zlib";

writeFileSync("dist/view.js.gz", gzipSync(readFileSync("dist/view.js"), { level: 9 }));
rmSync("dist/view.js");
