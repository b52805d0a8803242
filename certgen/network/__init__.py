"""The two least-squares networks: from readings to slopes, their covariance, and the proof of them."""
