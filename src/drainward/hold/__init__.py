"""What holds the unit: its floor on the bed, fasteners, braces and the cure.

fasten_stage, brace_stage, cure_stage   the stages of one room (hold.stage), with their answers
"""
