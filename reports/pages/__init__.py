"""What the pages of judging show, gathered in a number of queries that rooms and readings do not change.

Each module answers one question about rows that a view has found through ``campaigns.access``, in the shapes that the
template parts take.
"""
