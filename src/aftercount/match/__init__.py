"""(room)"""
