"""The working calendar: hours, days off, when jobs will be finished, what may be promised, the feed."""
