"""From the finished parts to the standing piece: weight, hands, the way in, assembly and cables."""
