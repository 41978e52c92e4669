"""Buying: the joint order and its reasons, orders to suppliers and what came of them."""
