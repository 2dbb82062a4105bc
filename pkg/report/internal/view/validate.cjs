// Prints what the Khronos validator says about a glTF file.
const { readFileSync } = require("node:fs");
const validator = require("gltf-validator");

validator.validateBytes(new Uint8Array(readFileSync(process.argv[2]))).then(({ issues }) => {
  const messages = issues.messages.filter((m) => m.severity < 2);
  console.log(JSON.stringify({ Errors: issues.numErrors, Warnings: issues.numWarnings, Messages: messages }));
});
