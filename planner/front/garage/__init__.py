"""The page Truck & trailers: what is there, and one trailer being written down, weighed or loaded item by item."""
