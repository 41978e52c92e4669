"""The ground that all floors stand on: findings, money, units, files in and out, drawing and setting. Knows no Django."""
