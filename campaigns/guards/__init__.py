"""What the database itself refuses, whoever writes: kept as data here, made into triggers for both databases."""

from campaigns.guards.in_place import after_migration, before_migration, has_tables, install, lift, missing
from campaigns.guards.rules import Guard, all_guards, frozen, message_of, never_emptied, register, stays

__all__ = [
    "Guard",
    "after_migration",
    "all_guards",
    "before_migration",
    "frozen",
    "has_tables",
    "install",
    "lift",
    "message_of",
    "missing",
    "never_emptied",
    "register",
    "stays",
]
