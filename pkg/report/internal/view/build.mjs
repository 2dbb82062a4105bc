// Builds the 3D view of the report and that of the page on this machine, which share their code, and packs
// them: they are embedded in the programs, four times as large unpacked.
import { build } from "esbuild";
import { writeFileSync } from "node:fs";
import { gzipSync } from "node:zlib";

const serve = "../../../../internal/serve";
for (const [from, format, to] of [
  ["src/view.js", "iife", "dist/view.js"],
  [`${serve}/front/casts.js`, "esm", `${serve}/dist/casts.js`],
]) {
  const { outputFiles } = await build({
    entryPoints: [from], bundle: true, minify: true, format, target: "es2020", legalComments: "eof", write: false, nodePaths: ["node_modules"],
  });
  writeFileSync(to + ".gz", gzipSync(outputFiles[0].contents, { level: 9 }));
}
