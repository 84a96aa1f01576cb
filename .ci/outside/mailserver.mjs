// A second mail server of other people's make (smtp-server) on the loopback.
//
// Usage: node mailserver.mjs MODULES FOLDER {starttls|tls}. Takes key and certificate from FOLDER/server.pem, writes each message it takes as
// NNN.eml with NNN.json into FOLDER, and its port into FOLDER/port once it listens. It ends with whoever holds its standard input.
import { createRequire } from "node:module";
import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";

const [modules, folder, security] = process.argv.slice(2);
const { SMTPServer } = createRequire(join(resolve(modules), "package.json"))("smtp-server");
const pem = readFileSync(join(folder, "server.pem"), "utf8");
let taken = 0;
const refuse = (code, text) => Object.assign(new Error(text), { responseCode: code });

const server = new SMTPServer({
    secure: security === "tls",
    key: pem,
    cert: pem.slice(pem.indexOf("-----BEGIN CERTIFICATE-----")),
    name: "localhost",
    onAuth(auth, session, done) {
        const good = auth.username === "office" && auth.password === "secret";
        good ? done(null, { user: auth.username }) : done(refuse(535, "wrong user or password"));
    },
    onRcptTo(address, session, done) {
        done(address.address.startsWith("nobody@") ? refuse(550, "no such user") : null);
    },
    onData(stream, session, done) {
        const parts = [];
        stream.on("data", (part) => parts.push(part));
        stream.on("end", () => {
            taken += 1;
            const name = join(folder, String(taken).padStart(3, "0"));
            writeFileSync(`${name}.eml`, Buffer.concat(parts));
            const { mailFrom, rcptTo } = session.envelope;
            const told = { from: mailFrom.address, to: rcptTo.map((to) => to.address), tls: session.secure, user: session.user };
            writeFileSync(`${name}.json`, JSON.stringify(told));
            done();
        });
    },
});
server.on("error", (error) => console.error(`mailserver: ${error.message}`));
server.listen(0, "127.0.0.1", () => writeFileSync(join(folder, "port"), String(server.server.address().port)));
process.stdin.resume();
process.stdin.on("end", () => process.exit(0));
