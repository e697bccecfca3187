"""A mail server on a real socket that keeps what it is given (RFC 5321, what a client needs)."""

import asyncio
from dataclasses import dataclass, field


@dataclass
class MailServer:
    """Takes mail on a free port of the loopback interface."""

    mails: list[str] = field(default_factory=list)
    port: int = 0
    _server: asyncio.Server | None = None

    async def start(self) -> None:
        """Listen."""
        self._server = await asyncio.start_server(self._serve, "127.0.0.1", 0)
        self.port = self._server.sockets[0].getsockname()[1]

    async def stop(self) -> None:
        """Stop listening."""
        if self._server is not None:
            self._server.close()
            await self._server.wait_closed()

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(b"220 mail.example ready\r\n")
        while line := await reader.readline():
            word = line.split()[0].upper() if line.split() else b""
            if word == b"DATA":
                writer.write(b"354 go on\r\n")
                await writer.drain()
                self.mails.append((await reader.readuntil(b"\r\n.\r\n")).decode())
            writer.write(b"221 bye\r\n" if word == b"QUIT" else b"250 ok\r\n")
            await writer.drain()
            if word == b"QUIT":
                break
        writer.close()
