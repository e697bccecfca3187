"""A bare echo bot on python-telegram-bot, all by default: what the path is measured against.

    python -m tests.bench.telegram_echo http://127.0.0.1:8081

A text comes back as it is, with one button. A tap is answered and its message changed: what our
path does, with nothing behind it.
"""

import sys

from telegram import InlineKeyboardButton, InlineKeyboardMarkup, Update
from telegram.ext import (
    Application,
    ApplicationBuilder,
    CallbackQueryHandler,
    ContextTypes,
    MessageHandler,
    filters,
)

from tests.doubles.bot_api import TOKEN

BUTTON = InlineKeyboardMarkup([[InlineKeyboardButton("again", callback_data="again")]])


async def echo(update: Update, _context: ContextTypes.DEFAULT_TYPE) -> None:
    """The same words, back."""
    assert update.message is not None
    assert update.message.text is not None
    await update.message.reply_text(update.message.text)


async def tapped(update: Update, _context: ContextTypes.DEFAULT_TYPE) -> None:
    """The button's value in place of the message."""
    query = update.callback_query
    assert query is not None
    assert query.data is not None
    await query.answer()
    await query.edit_message_text(query.data, reply_markup=BUTTON)


def build(api: str) -> "Application":
    """The bot at a server."""
    application = ApplicationBuilder().token(TOKEN).base_url(f"{api}/bot").build()
    application.add_handler(MessageHandler(filters.TEXT, echo))
    application.add_handler(CallbackQueryHandler(tapped))
    return application


if __name__ == "__main__":
    build(sys.argv[1]).run_polling()
