"""A mail server of other people's make (aiosmtpd) on the loopback, with a certificate of a new authority (trustme).

Usage: mailserver.py FOLDER {starttls|tls}. Writes ca.pem, server.pem and each message it takes as NNN.eml with NNN.json into FOLDER, and its
port into FOLDER/port once it listens. It ends with whoever holds its standard input.
"""

import asyncio
import json
import pathlib
import ssl
import sys

import trustme
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword

folder = pathlib.Path(sys.argv[1])
wrapped = sys.argv[2] == "tls"


class Keeper:
    """Keeps what is taken."""

    taken = 0

    async def handle_RCPT(self, server, session, envelope, address, options):
        if address.startswith("nobody@"):
            return "550 no such user"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        Keeper.taken += 1
        (folder / f"{Keeper.taken:03}.eml").write_bytes(envelope.original_content)
        told = {"from": envelope.mail_from, "to": envelope.rcpt_tos, "tls": session.ssl is not None or wrapped, "user": session.authenticated}
        (folder / f"{Keeper.taken:03}.json").write_text(json.dumps(told))
        return "250 OK"


def authenticate(server, session, envelope, mechanism, data):
    good = isinstance(data, LoginPassword) and data.login == b"office" and data.password == b"secret"
    # handled=False has the server answer a wrong password
    return AuthResult(success=good, handled=good)


async def main():
    authority = trustme.CA()
    certificate = authority.issue_cert("localhost")
    authority.cert_pem.write_to_path(folder / "ca.pem")
    certificate.private_key_and_cert_chain_pem.write_to_path(folder / "server.pem")
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    certificate.configure_cert(context)
    common = {"authenticator": authenticate, "auth_required": True, "hostname": "localhost"}

    def session():
        if wrapped:
            return SMTP(Keeper(), auth_require_tls=False, **common)
        return SMTP(Keeper(), tls_context=context, require_starttls=True, **common)

    loop = asyncio.get_running_loop()
    server = await loop.create_server(session, "127.0.0.1", 0, ssl=context if wrapped else None)
    (folder / "port").write_text(str(server.sockets[0].getsockname()[1]))
    await loop.run_in_executor(None, sys.stdin.read)
    server.close()


asyncio.run(main())
