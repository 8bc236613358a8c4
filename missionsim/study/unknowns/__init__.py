"""Draw what nobody said: figures an advertisement leaves open, how an aircraft wears, and what they change.

Not here: what an answer is worth (`study.compare.questions`).
"""
