//! Memory: from reviews to the chance of recall, and from that to today's plan. Knows nothing of rhythm.
