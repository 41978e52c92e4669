"""The child process that reads one foreign file."""

from quotes.pattern.readers.child import answer_request

answer_request()
