"""What a value cell holds, alone and by the block, and whether it can be that."""
