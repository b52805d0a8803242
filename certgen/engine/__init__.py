"""The correction engine: from readings to slopes, covariance and moves."""
