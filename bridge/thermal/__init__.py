"""The fluid's temperature now and to come: estimator, filter bank, forecast. Pure."""
