// Runs the Khronos glTF validator over one .glb file and prints what it found: "0 errors, 0 warnings, ...", then each
// message on a line. Exit code 1 where it found errors or warnings.
//
//   node tests/io/validate_glb.mjs mound.glb
import { readFile } from 'node:fs/promises';
import validator from 'gltf-validator';

const report = await validator.validateBytes(new Uint8Array(await readFile(process.argv[2])));
const { numErrors, numWarnings, numHints, numInfos, messages } = report.issues;
console.log(`${numErrors} errors, ${numWarnings} warnings, ${numHints} hints, ${numInfos} infos`);
for (const { code, message, pointer } of messages) console.log(`${code} ${pointer}: ${message}`);
process.exitCode = numErrors + numWarnings > 0 ? 1 : 0;
