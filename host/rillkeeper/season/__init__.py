"""Whole seasons of a site: will this battery, this source and this pump do, in a dry year too?"""
