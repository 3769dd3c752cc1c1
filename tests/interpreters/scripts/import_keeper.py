import keeper

print(callable(keeper.Keeper), keeper.__file__)
