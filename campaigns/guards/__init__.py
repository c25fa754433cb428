"""What the database itself refuses, whoever writes: kept as data here, made into triggers for both databases."""

from campaigns.guards.install import after_migration, before_migration, install, lift, missing
from campaigns.guards.rules import Guard, all_guards, frozen, message_of, never_emptied, register, stays

__all__ = [
    "Guard",
    "after_migration",
    "all_guards",
    "before_migration",
    "frozen",
    "install",
    "lift",
    "message_of",
    "missing",
    "never_emptied",
    "register",
    "stays",
]
