-- In how many records each field applies, and in how many it is recorded.
select mode, kind, field,
  cast(sum(case when state = 'does not apply' then 0 else 1 end) as bigint) as asked,
  cast(sum(case when state = 'recorded' then 1 else 0 end) as bigint) as recorded
from fields
group by mode, kind, field
order by mode, kind, field
