"""Tool paths, RS-274 program text, removal simulation: the plan of the slab becomes what the machine or the sled does."""
