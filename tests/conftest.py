"""For all tests: arithmetic on one thread, as in the program itself."""

from bot.settings import one_thread_for_arithmetic

one_thread_for_arithmetic()
