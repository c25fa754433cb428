from tests.permissions.world import world

__all__ = ["world"]
