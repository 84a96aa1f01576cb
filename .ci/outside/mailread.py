"""Messages read back by Python's own library: no defect anywhere, one recipient, two bodies, and the certificate to the last byte.

Usage: mailread.py CERTIFICATES_FOLDER MESSAGE... ; a message FILE.eml may have FILE.json beside it with the server's envelope.
"""

import email
import email.policy
import hashlib
import html.parser
import json
import pathlib
import sys


class Plain(html.parser.HTMLParser):
    """The text of a page, and whatever it would fetch."""

    def __init__(self):
        super().__init__()
        self.text, self.fetched = [], []

    def handle_starttag(self, tag, attrs):
        self.fetched += [value for name, value in attrs if name in ("src", "href", "background", "srcset")]

    def handle_data(self, data):
        self.text.append(data)


def check(path, certificates):
    data = path.read_bytes()
    assert max(len(line) for line in data.split(b"\r\n")) <= 998, "a line is too long"
    assert b"\n" not in data.replace(b"\r\n", b""), "a line ends without CR"
    message = email.message_from_bytes(data, policy=email.policy.default)
    for part in message.walk():
        assert part.defects == [], f"{part.get_content_type()}: {part.defects}"
        for name, value in part.items():
            assert getattr(value, "defects", ()) == (), f"{name}: {value.defects}"
    for name in ("From", "To", "Subject", "Message-ID"):
        assert len(message.get_all(name, [])) == 1, f"{name} does not stand there once"
    assert message["Bcc"] is None and message["Cc"] is None
    [to] = message["To"].addresses
    envelope = path.with_suffix(".json")
    if envelope.exists():
        told = json.loads(envelope.read_text())
        [sender] = message["From"].addresses
        assert told["to"] == [to.addr_spec] and told["from"] == sender.addr_spec, told
        assert told["tls"] and told["user"], told
        assert message["Date"].datetime is not None
    else:
        assert message["Date"] is None and message["X-Unsent"] == "1"
    [attached] = message.iter_attachments()
    name = attached.get_filename()
    wanted = pathlib.Path(certificates, name).read_bytes()
    assert attached.get_content_type() == "application/pdf"
    found = hashlib.sha256(attached.get_content()).hexdigest()
    assert found == hashlib.sha256(wanted).hexdigest(), f"{name} is not the certificate"
    assert name.split("-certificate")[0] in message["Subject"], message["Subject"]
    text = message.get_body(("plain",)).get_content()
    page = Plain()
    page.feed(message.get_body(("html",)).get_content())
    assert page.fetched == [], page.fetched
    words = " ".join("".join(page.text).split())
    for line in filter(None, (line.strip() for line in text.splitlines())):
        label, _, value = line.partition(": ")
        assert line == "--" or line in words or (label in words and value in words), f"the page lacks {line!r}"
    return to.display_name, name


def main():
    certificates, *messages = sys.argv[1:]
    assert messages, "no message"
    for path in map(pathlib.Path, messages):
        try:
            who, name = check(path, certificates)
        except AssertionError as fault:
            sys.exit(f"{path}: {fault}")
        print(f"good  {path.parent.name}/{path.name}: {name} to {who}")


main()
