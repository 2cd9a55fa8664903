"""Laws of reading descriptions: nothing raises, nothing is lost, nothing is invented, spelling does not matter."""
