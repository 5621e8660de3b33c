"""From a farm's wanted work to a timed round: the problem in integers, its engines, proof and reasons."""
