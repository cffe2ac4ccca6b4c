"""Saturation properties of the refrigerants of heat pumps, from tables made from CoolProp."""

from firstfrost.refrigerants.refrigerant import REFRIGERANTS, Refrigerant, refrigerant, table_source

__all__ = ["REFRIGERANTS", "Refrigerant", "refrigerant", "table_source"]
