// An editor's language server, with the schemas that `decant schema` prints: no sample has a fault, a slip is found at its line, and the
// keys of a job are offered. `node editor.mjs TOOLS SCHEMAS KIND=FILE...`: TOOLS has node_modules, SCHEMAS holds KIND.json. A file
// of the kind `begun` names its schema itself, in its first line.
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [tools, schemas, ...samples] = process.argv.slice(2);
const require = createRequire(resolve(tools, "package.json"));
const rpc = require("vscode-jsonrpc/node");
const server = spawn(process.execPath, [resolve(tools, "node_modules/yaml-language-server/bin/yaml-language-server"), "--stdio"]);
const connection = rpc.createMessageConnection(new rpc.StreamMessageReader(server.stdout), new rpc.StreamMessageWriter(server.stdin));
const waiting = new Map();
const settings = { yaml: { validate: true, completion: true, hover: false, schemaStore: { enable: false }, schemas: {} } };
for (const kind of ["company", "job", "log", "contract"]) {
  settings.yaml.schemas[pathToFileURL(resolve(schemas, `${kind}.json`)).href] = `/check/${kind}-*.yaml`;
}
connection.onNotification("textDocument/publishDiagnostics", ({ uri, diagnostics }) => waiting.get(uri)?.(diagnostics));
connection.onRequest("workspace/configuration", ({ items }) => items.map(({ section }) => settings[section] ?? null));
connection.onRequest("client/registerCapability", () => null);
connection.listen();
setTimeout(() => fail("the language server did not answer within two minutes"), 120_000).unref();

function fail(why) {
  console.error(`editor: ${why}`);
  process.exit(1);
}

let number = 0;
function open(kind, text, place = `file:///check/${kind}`) {
  const uri = `${place}-${++number}.yaml`;
  const told = new Promise((done) => waiting.set(uri, done));
  connection.sendNotification("textDocument/didOpen", { textDocument: { uri, languageId: "yaml", version: 1, text } });
  return { uri, told };
}

await connection.sendRequest("initialize", {
  processId: process.pid, rootUri: null, workspaceFolders: null,
  capabilities: { workspace: { configuration: true }, textDocument: { completion: { completionItem: {} }, publishDiagnostics: {} } },
});
connection.sendNotification("initialized", {});
connection.sendNotification("workspace/didChangeConfiguration", { settings });

let checked = 0;
for (const sample of samples) {
  const [kind, file] = sample.split("=");
  const text = readFileSync(file, "utf8");
  // under a name of its own beside the file, from where the schema is looked for
  const place = kind === "begun" ? pathToFileURL(resolve(file)).href : undefined;
  const faults = await open(kind, text, place).told;
  if (kind === "begun") {
    const slip = await open(kind, `${text}\nslip: 1\n`, place).told;
    if (!slip.some((fault) => fault.message.includes("slip"))) fail(`${file}: its schema was not found`);
  }
  if (faults.length) fail(`${file}: ${faults.map((f) => `${f.range.start.line + 1}: ${f.message}`).join("; ")}`);
  console.log(`good  ${file}`);
  checked++;
}
if (!checked) fail("no file was given");

const job = readFileSync(samples.find((s) => s.startsWith("job=")).slice(4), "utf8");
const slip = await open("job", job.replace("\ntreatments:", "\ntreatmens:")).told;
if (!slip.some((fault) => fault.message.includes("treatmens"))) fail("a key that is misspelled was not found");
console.log("found a key that is misspelled");
const begun = open("job", "job: A-1\n");
await begun.told;
const offered = await connection.sendRequest("textDocument/completion", { textDocument: { uri: begun.uri }, position: { line: 1, character: 0 } });
const labels = (offered.items ?? offered).map((item) => item.label);
for (const key of ["client", "site", "visit", "treatments", "areas"]) {
  if (!labels.includes(key)) fail(`\`${key}\` is not offered: ${labels}`);
}
console.log(`offered: ${labels.join(", ")}`);
process.exit(0);
